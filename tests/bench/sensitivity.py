"""Which rows of the hand hang on which number that is not published, and how much the widest opening depends on each.

    OPENBLAS_NUM_THREADS=1 python tests/bench/sensitivity.py            # rows; --millimetres for the widest openings
    OPENBLAS_NUM_THREADS=1 python tests/bench/sensitivity.py --digits   # one more and one less in each number's second digit

Each number is set to either end of its range, all else as it is (`hand_rows.ends`): its own range or fitted spread where it has
one, else 0.02 of a length, 5 degrees, 20 % of others. A row that breaks is looked for between: the end of what it bears is told.
"""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager
from pathlib import Path

import numpy as np

HERE = Path(__file__).resolve()
sys.path[:0] = [str(HERE.parents[2]), str(HERE.parents[1]), str(HERE.parents[1] / "reference")]

import hand_rows  # noqa: E402
import test_claw_binder_markey_2019 as claw  # noqa: E402
import test_hand_published as published  # noqa: E402
import test_joint_stiffness as stiffness  # noqa: E402
import test_single_tendons_nimbarte_2008 as tendons  # noqa: E402
import test_tenodesis_su_2005 as tenodesis  # noqa: E402
import test_wrist_passive_torque_delp_1996 as wrist  # noqa: E402
import test_wrist_torque_single_muscle_2010 as single  # noqa: E402
from hand_rows import CURRENT_MA, ROWS, SETTINGS, Number, ends, unpublished, with_number, with_setting  # noqa: E402

from graspwave.simulator.hand import standard_hand  # noqa: E402
from graspwave.simulator.scene import Hand  # noqa: E402

HALVINGS = 4
LEAST_MM = 1.0


def mcp_stiffness() -> bool:
    found = {key: stiffness.of(stiffness.ROWS["MCP", row], hand_rows.hand(key).hand)
             for key, row in (("supple", "healthy"), ("tight", "ashworth 2 to 3"))}
    return stiffness.supple_is_met(found["supple"]) and stiffness.tight_is_met(found["tight"])


PUBLISHED: dict[str, Callable[[], bool]] = {
    "tenodesis (Su)": lambda: tenodesis.check(Hand(), standard_hand()),
    **{f"claw: {row['finger']}": (lambda row=row: claw.check(row, standard_hand(), float(row["flexor_length_factor"])))
       for row in claw.ROWS},
    "single tendons (Nimbarte)": lambda: tendons.check(standard_hand()),
    "wrist, passive (Delp)": lambda: wrist.check_passive(standard_hand()),
    "wrist, at most (Delp)": lambda: wrist.check_active(standard_hand()),
    "one muscle at the wrist": lambda: (
        single.check({m: single.ours_nm(m) for m in single.ROWS}) and single.ecu_is_met(single.ours_nm("ECU"))),
    "MCP stiffness": mcp_stiffness,
    "PIP stiffness": lambda: stiffness.pip_is_met(
        stiffness.of(stiffness.ROWS["PIP", "89 adults"], hand_rows.hand("supple").hand)),
    "MCP torque (Qin)": lambda: published.inside("finger torque in mid range", published.mid_range_nm(standard_hand(), "MCP")),
    "muscle's share at the MCP": lambda: (
        published.inside("share of muscle in passive MCP work", published.muscle_share(standard_hand()))
        and published.extrinsic_share(standard_hand()) > 0.8),
    "PIP lags without intrinsics": lambda: min(map(published.pip_where_mcp_is_straight_deg, (0.98, 0.95))) > 20.0,
    "load on the intrinsics": published.order_turns,
}  # fmt: skip
ALL = {**ROWS, **PUBLISHED}


def broken() -> list[str]:
    """Rows that do not hold now."""
    return [name for name, holds in ALL.items() if not holds()]


Change = Callable[[Number], AbstractContextManager[None]]


def changes() -> Iterator[tuple[str, str, Number, tuple[Number, Number], Change]]:
    """Name, mark, value, its ends, and how to change it."""
    for name, record in unpublished().items():
        yield name, record.mark, record.value, ends(record), lambda value, name=name: with_number(name, value)
    for (key, name), two in SETTINGS.items():
        value = float(getattr(hand_rows.presets()[key or "supple"].hand, name))
        yield f"{name}, {key or 'all'}", "demo", value, two, lambda value, key=key, name=name: with_setting(key, name, value)


def bears(change: Change, value: Number, end: Number, row: str) -> Number:
    """The last value on the way to `end` at which the row was seen to hold."""
    good, bad = np.asarray(value, dtype=float), np.asarray(end, dtype=float)
    for _ in range(HALVINGS):
        middle = 0.5 * (good + bad)
        with change(tuple(middle) if middle.ndim else float(middle)):
            good, bad = (middle, bad) if ALL[row]() else (good, middle)
    return tuple(good) if good.ndim else float(good)


def told(number: Number) -> str:
    return f"{number:.4g}" if isinstance(number, int | float) else " ".join(f"{n:.3g}" for n in number)


def rows() -> None:
    as_it_is = broken()
    print("not met as it is: " + (", ".join(as_it_is) or "none"))
    print("| number | mark | value | tried | rows that break, and the last value that each was seen to bear |")
    print("| --- | --- | --- | --- | --- |")
    outlived, count = [], 0
    for name, mark, value, two, change in changes():
        count += 1
        said = []
        for end in two:
            with change(end):
                lost = [row for row in broken() if row not in as_it_is]
            said += [f"{row} (to {told(bears(change, value, end, row))})" for row in lost]
        if said:
            print(f"| {name} | {mark} | {told(value)} | {told(two[0])} to {told(two[1])} | {'; '.join(said)} |", flush=True)
        else:
            outlived.append(name)
    print(f"\n{len(outlived)} of {count} numbers break nothing over their range: {', '.join(outlived)}.")


def digit_apart(value: Number, two: tuple[Number, Number]) -> tuple[Number, Number]:
    """One less and one more in the second digit, no further than the ends of the number's range.

    Numbers by finger together; a 1 among them is the finger the others are told by, not a number.
    """
    if isinstance(value, tuple):
        pairs = [(v, v) if v == 1.0 else digit_apart(v, ends) for v, ends in zip(value, zip(*two, strict=True), strict=True)]  # type: ignore[arg-type]
        return tuple(low for low, _ in pairs), tuple(high for _, high in pairs)  # type: ignore[misc]
    step = 10.0 ** (np.floor(np.log10(abs(value))) - 1.0) if value else 0.0
    return max(value - step, min(two)), min(value + step, max(two))  # type: ignore[type-var, return-value]


def digits() -> None:
    """Rows that do not outlive one more or one less in the second digit of a number."""
    as_it_is, hang, count = broken(), [], 0
    for name, mark, value, two, change in changes():
        count += 1
        for other in digit_apart(value, two):
            with change(other):
                lost = [row for row in broken() if row not in as_it_is]
            if lost:
                hang.append(name)
                print(f"| {name} | {mark} | {told(value)} | {told(other)} | {'; '.join(lost)} |", flush=True)
    print(f"{count - len(set(hang))} of {count} numbers bear a change of their second digit by one")


def millimetres() -> None:
    asked = {"tight": hand_rows.hand("tight"), "supple": hand_rows.hand("supple"),
             "tight, held 35": hand_rows.hand("tight", wrist_held_deg=35.0)}  # fmt: skip
    plain = {key: hand_rows.widest_mm(scene) for key, scene in asked.items()}
    found = []
    for name, record in unpublished().items():
        effect = []
        for end in ends(record):
            with with_number(name, end):
                effect.append([hand_rows.widest_mm(scene) - plain[key] for key, scene in asked.items()])
        found.append((name, record.mark, np.array(effect)))
    print(f"widest opening over 0 to {CURRENT_MA[-1]:g} mA [mm]: " + ", ".join(f"{key} {mm:.1f}" for key, mm in plain.items()))
    print(f"{'number, at its low and high end':36s} {'mark':10s} " + " ".join(f"{key:>16s}" for key in plain))
    most = [row for row in sorted(found, key=lambda row: -np.abs(row[2]).max()) if np.abs(row[2]).max() >= LEAST_MM]
    for name, mark, effect in most:
        print(f"{name:36s} {mark:10s} " + " ".join(f"{low:+7.1f} {high:+8.1f}" for low, high in effect.T))
    print(f"{len(found) - len(most)} more numbers change it by less than {LEAST_MM:g} mm")


if __name__ == "__main__":
    {"--millimetres": millimetres, "--digits": digits}.get(" ".join(sys.argv[1:]), rows)()
