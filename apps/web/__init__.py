"""What runs in the browser: modules and styles under one stamped address."""
