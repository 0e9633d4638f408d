"""Controls of our own: plain HTML in small components, named and usable by keyboard."""

from __future__ import annotations

from apps.controls.base import Control
from apps.controls.buttons import Choice, PlainButton
from apps.controls.hold import HoldSwitch
from apps.controls.numbers import NumberRow, Slider
from apps.controls.words import Finding, Notices, Thread

__all__ = ["Choice", "Control", "Finding", "HoldSwitch", "Notices", "NumberRow", "PlainButton", "Slider", "Thread"]
