"""Graspwave: a teaching simulator of electrical stimulation of the forearm for hand opening.

Installed, the folders ``simulator``, ``lessons`` and ``apps`` are ``graspwave.simulator``, ``graspwave.lessons`` and
``graspwave.apps``; this file is the root they hang on.
"""

from importlib.metadata import version

__all__ = ["__version__"]

__version__ = version("graspwave")
