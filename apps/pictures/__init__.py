"""Pictures drawn in the browser from the state of the model."""

from __future__ import annotations
