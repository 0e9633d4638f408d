"""Controls of our own: plain HTML in small components, named and usable by keyboard."""

from __future__ import annotations

from graspwave.apps.controls.base import Control
from graspwave.apps.controls.buttons import Choice, PlainButton
from graspwave.apps.controls.hold import HoldSwitch
from graspwave.apps.controls.numbers import NumberRow, Slider
from graspwave.apps.controls.words import Finding, Notices, Thread

__all__ = ["Choice", "Control", "Finding", "HoldSwitch", "Notices", "NumberRow", "PlainButton", "Slider", "Thread"]
