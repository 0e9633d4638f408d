"""Pictures of lessons: the data that Python makes."""

from __future__ import annotations

import itertools
import json
from typing import Any

import numpy as np
import pytest
from picture_pages import CURRENTS, S, T, made

from graspwave import simulator as sim
from graspwave.apps.teach.pictures import hand_state
from graspwave.apps.told.numbers import said_number


def test_every_picture_has_title_text_and_an_id_of_its_content(all_kinds: dict[str, dict[str, Any]]) -> None:
    ids = {one["id"] for one in all_kinds.values()}
    assert len(ids) == len(all_kinds)
    for name, one in all_kinds.items():
        assert len(one["id"]) == 32
        assert int(one["id"], 16) >= 0
        json.dumps(one, allow_nan=False)
        if name != "words":
            assert one["title"], name
            assert one["text"], name
    again = made("curve", scenes={"tight hand": T}, at=14.0, object_mm=55.0, cover=True)
    assert again == all_kinds["covered"]
    assert made("curve", scenes={"tight hand": T}, at=14.5, object_mm=55.0, cover=True)["id"] != again["id"]


def test_a_lesson_s_own_words_go_before_the_made_ones() -> None:
    one = made("hand", "The tight hand", "A hand.", scene=T(amp=14))
    assert (one["title"], one["text"]) == ("The tight hand", "A hand.")


def test_a_curve_is_the_model_s(all_kinds: dict[str, dict[str, Any]]) -> None:
    opening = sim.opening_curve(T, CURRENTS).opening_mm
    line = all_kinds["curve"]["lines"][1]
    drawn = np.interp(CURRENTS, line["x"], line["y"])
    assert np.max(np.abs(drawn - opening)) < 0.06  # four digits
    assert f"{np.max(opening):.0f} mm" in all_kinds["curve"]["text"]
    point = all_kinds["curve"]["points"][0]
    assert point["y"] == pytest.approx(float(sim.opening_curve(S, [14.0]).opening_mm[0]), abs=0.05)


def test_where_other_arms_lie_is_told_and_has_room(all_kinds: dict[str, dict[str, Any]]) -> None:
    one = all_kinds["shaded"]
    line = one["lines"][0]
    assert line["band"] == {"x": [0.0, 30.0, 60.0], "low": [0.0, 20.0, 0.0], "high": [10.0, 130.0, 20.0]}
    assert one["y"]["high"] > 130.0
    assert one["caption"] == "Shaded: where eight in ten of 100 other invented arms lie."
    # between the corners of the band, where this line is highest
    at = line["x"][int(np.argmax(line["y"]))]
    assert f"at: this hand, {20.0 * at / 30.0:.0f} to {10.0 + 4.0 * at:.0f} mm." in one["text"]
    assert not any("band" in other for other in all_kinds["curve"]["lines"])


def test_a_covered_curve_holds_nothing_of_what_it_covers(all_kinds: dict[str, dict[str, Any]]) -> None:
    one = all_kinds["covered"]
    assert one["covered"] is True
    assert max(x for line in one["lines"] for x in line["x"]) <= 14.0
    assert one["cover_from"] == 14.0
    assert "24" not in one["text"]
    bare = made("curve", scenes={"tight hand": T}, at=None, cover=True)
    assert bare["lines"] == []
    assert bare["points"] == []
    assert bare["y"] == made("curve", scenes={"tight hand": T})["y"]  # the axis tells nothing either


def test_a_hand_is_the_model_s(all_kinds: dict[str, dict[str, Any]]) -> None:
    curve = sim.opening_curve(T, [14.0])
    state = all_kinds["hand"]["state"]
    assert state["opening"]["mm"] == pytest.approx(float(curve.opening_mm[0]), abs=0.05)
    for joint, angle in curve.angle_deg.items():
        assert state["angle_deg"][joint] == pytest.approx(float(angle[0]), abs=0.05)
    assert f"opening {curve.opening_mm[0]:.0f} mm" in all_kinds["hand"]["text"]
    assert state["wrist_held"] is False
    assert hand_state(T(amp=14, wrist=0))["wrist_held"] is True
    led = all_kinds["led"]
    assert [led["along"]["values"][i] for i in (0, -1)] == [10.0, 14.5]
    assert led["frames"][-1]["opening"]["mm"] == pytest.approx(float(sim.opening_curve(T, [14.5]).opening_mm[0]), abs=0.05)
    times = [frame["t_ms"] for frame in led["frames"]]
    assert times == sorted(times)
    assert "14.5 mA" in led["title"]


def test_why_rows_add_up(all_kinds: dict[str, dict[str, Any]]) -> None:
    rows = all_kinds["why"]["rows"]
    assert [row["as"] for row in (rows[0], rows[-1])] == ["total", "total"]
    steps = sum(row["value"] for row in rows[1:-1])
    assert rows[0]["value"] + steps == pytest.approx(rows[-1]["value"], abs=0.1 * len(rows))
    assert all((row["value"] > 0) == (row["as"] == "gain") for row in rows[1:-1])
    found = sim.explain_opening(T(amp=14), T(amp=24))
    assert all_kinds["why"]["caption"] == found.text
    whole = [float(row["shown"].replace("−", "-")) for row in rows]
    assert whole == pytest.approx([row["value"] for row in rows], abs=1.06)
    assert sum(whole[:-1]) == whole[-1], "what is shown adds up"
    assert all(f"{row['label']}: {row['shown']} mm" in all_kinds["why"]["text"] for row in rows)


def test_bars_tell_small_numbers_too(all_kinds: dict[str, dict[str, Any]]) -> None:
    assert [row["shown"] for row in all_kinds["bars"]["rows"]] == ["41", "0.3"]


@pytest.mark.parametrize(
    ("value", "told"),
    [(22.5, "22.5"), (7.5, "7.5"), (30.0, "30"), (-22.5, "−22.5"), (22.4, "22"), (99.5, "99.5"), (122.5, "122"), (0.25, "0.25"),
     (0.0, "0"), (-0.001, "0"), (14.679, "15")],
)
def test_a_number_is_told_whole_or_as_a_half(value: float, told: str) -> None:
    assert said_number(value) == told
    assert said_number(value, "min") == f"{told} min"


def test_strips_hold_the_times_of_the_run(all_kinds: dict[str, dict[str, Any]]) -> None:
    run = sim.run_practice(S, "timed", minutes=6)
    timer = all_kinds["strips"]["strips"][0]
    assert timer["minutes"]["waiting"] == pytest.approx(run.phase_s["wait"] / 60.0, abs=0.2)
    assert timer["minutes"]["current on"] == pytest.approx(run.on_s / 60.0, abs=0.1)
    assert timer["tally"].startswith(f"{run.repetitions} repetitions")
    assert timer["shown"] == {name: said_number(round(minutes, 1)) for name, minutes in timer["minutes"].items()}
    for parts in timer["parts"].values():
        assert all(a < b or a == pytest.approx(b) for a, b in parts)
        assert all(one[1] <= two[0] for one, two in itertools.pairwise(parts))


def test_forearm_names_the_first_to_answer(all_kinds: dict[str, dict[str, Any]]) -> None:
    nerves = {nerve["muscle"]: nerve for nerve in all_kinds["forearm"]["nerves"]}
    share = sim.recruitment_curve(S, [nerves["EDC"]["threshold_ma"]])
    assert float(share["EDC"][0]) == pytest.approx(0.1, abs=0.02)
    assert nerves["FDS"]["closer"] is True
    assert nerves["EDC"]["closer"] is False
    first = min((n for n in nerves.values() if n["threshold_ma"] is not None), key=lambda n: n["threshold_ma"])
    assert first["muscle"] in all_kinds["forearm"]["title"]


def test_a_pulse_has_its_height_and_length(all_kinds: dict[str, dict[str, Any]]) -> None:
    line = all_kinds["pulse"]["lines"][0]
    assert max(line["y"]) == 20.0
    assert min(line["y"]) == -20.0
    on = [x for x, y in zip(line["x"], line["y"], strict=True) if y > 19.0]
    assert (min(on), max(on)) == pytest.approx((0.0, 300.0), abs=2.0)
    # first and second phase carry the same charge: the last corner is back at zero
    assert np.trapezoid(line["y"], line["x"]) == pytest.approx(0.0, abs=40.0)


def test_words_do_no_harm(all_kinds: dict[str, dict[str, Any]]) -> None:
    taps, script = all_kinds["words"]["lines"]
    assert "<strong>taps</strong>" in taps
    assert "<script" not in script
