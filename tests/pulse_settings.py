"""Scenes for property tests: every setting of pulses and timing over its whole range."""

from __future__ import annotations

from typing import Any

from hypothesis import strategies as st

from graspwave.simulator.scene import Channel, Pads, Pulse, Ramp, Scene, SceneError, Session, Timing, Train, setting


def scene_with(**settings: Any) -> Scene:
    """The default scene at 20 mA with settings of channel 0, written ``pulse__phase_us=200`` (dots as two underscores)."""
    parts: dict[str, dict[str, Any]] = {"pulse": {"amplitude_ma": 20.0}}
    minutes = settings.pop("minutes", 1.0)
    for path, value in settings.items():
        record, name = path.split("__")
        parts.setdefault(record, {})[name] = value
    kinds = {"pads": Pads, "pulse": Pulse, "train": Train, "ramp": Ramp, "timing": Timing}
    channel = Channel(**{record: kinds[record](**values) for record, values in parts.items()})
    return Scene(channel=(channel,), session=Session(minutes=minutes))


def _decimal(path: str, most: float | None = None) -> st.SearchStrategy[float]:
    """Numbers of three decimals in a setting's range: people set those, and fractions of them are exact."""
    low, high = setting(path).range or (0.0, 1.0)
    high = high if most is None else most
    return st.integers(round(1000 * low), round(1000 * high)).map(lambda thousandths: thousandths / 1000)


@st.composite
def scenes(draw: st.DrawFn, control: str | None = None) -> Scene:
    """A scene of one channel; on times of at most 12 s keep the trains short."""
    settings = {
        "pads__swap": draw(st.booleans()),
        "pads__size_cm2": draw(_decimal("pads.size_cm2")),
        "pulse__amplitude_ma": draw(_decimal("pulse.amplitude_ma")),
        "pulse__phase_us": draw(_decimal("pulse.phase_us")),
        "pulse__gap_us": draw(st.one_of(st.just(0.0), _decimal("pulse.gap_us"))),
        "pulse__shape": draw(st.sampled_from(["symmetric", "asymmetric", "monophasic"])),
        "pulse__phase_ratio": draw(_decimal("pulse.phase_ratio")),
        "train__frequency_hz": draw(_decimal("train.frequency_hz")),
        "train__start": draw(st.sampled_from(["plain", "doublet", "triplet"])),
        "train__leading_interval_ms": draw(_decimal("train.leading_interval_ms")),
        "ramp__up_s": draw(st.one_of(st.just(0.0), _decimal("ramp.up_s", 3.0))),
        "ramp__down_s": draw(st.one_of(st.just(0.0), _decimal("ramp.down_s", 3.0))),
        "ramp__of": draw(st.sampled_from(["amplitude", "phase"])),
        "timing__control": control or draw(st.sampled_from(["cycle", "held"])),
        "timing__on_s": draw(_decimal("timing.on_s", 12.0)),
        "timing__off_s": draw(st.one_of(st.just(0.0), _decimal("timing.off_s", 12.0))),
        "timing__delay_s": draw(st.one_of(st.just(0.0), _decimal("timing.delay_s", 5.0))),
        "timing__ramps_inside": draw(st.booleans()),
    }
    try:
        return scene_with(**settings)
    except SceneError:  # a pulse too long for its rate, or ramps too long for the on time: make room for both
        settings.update(pulse__phase_us=100.0, pulse__gap_us=0.0, timing__ramps_inside=False)
        return scene_with(**settings)


def presses(most_s: float = 20.0) -> st.SearchStrategy[list[tuple[float, float]]]:
    """Presses in any order: overlapping, touching, or shorter than a pulse."""
    length = st.one_of(st.integers(0, 3), st.integers(0, 8000)).map(lambda thousandths: thousandths / 1000)
    start = st.integers(0, round(1000 * most_s)).map(lambda thousandths: thousandths / 1000)
    return st.lists(st.tuples(start, length).map(lambda pair: (pair[0], pair[0] + pair[1])), max_size=8)
