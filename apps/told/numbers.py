"""The one way in which the pages write a number: digits, a real minus sign, the unit after a space."""

from __future__ import annotations

from graspwave.lessons.numerals import read_off

__all__ = ["fixed", "said_ma", "said_number", "signed"]


def fixed(value: float, digits: int = 0, unit: str = "") -> str:
    """A number with so many digits after the point, a real minus, no minus before nothing, and its unit.

    >>> fixed(-12.34, 1, "mA")
    '−12.3 mA'
    >>> fixed(-0.04, 1)
    '0.0'
    """
    text = f"{value:.{digits}f}"
    if not text.strip("-0."):
        text = text.removeprefix("-")
    text = text.replace("-", "−")
    return f"{text} {unit}" if unit else text


def signed(value: float, digits: int = 0, unit: str = "") -> str:
    """A change with its sign.

    >>> signed(4.2), signed(-4.2), signed(-0.2)
    ('+4', '−4', '0')
    """
    text = fixed(value, digits, unit)
    return text if text.startswith("−") or not text.split(" ")[0].strip("0.") else f"+{text}"


def said_number(value: float, unit: str = "") -> str:
    """A number as it is told: whole from 10 on, or a half below 100, else as many digits as it takes.

    >>> said_number(12.5), said_number(123.4, "mm"), said_number(0.25)
    ('12.5', '123 mm', '0.25')
    """
    text = read_off(value)
    return f"{text} {unit}" if unit else text


def said_ma(value: float) -> str:
    """A current: whole milliamperes, or halves where it is set so.

    >>> said_ma(12.0), said_ma(12.5)
    ('12 mA', '12.5 mA')
    """
    return fixed(value, 1 if abs(value - round(value)) > 0.05 else 0, "mA")
