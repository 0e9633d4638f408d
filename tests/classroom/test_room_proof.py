"""What joining costs: free for a small class, dearer for crowds and guessers, each text good once and for its code alone."""

from __future__ import annotations

import hashlib

import pytest

from graspwave.apps.classroom.gate import Gate
from graspwave.apps.classroom.proof import Proofs, fits, price, solve


class Clock:
    now = 1_800_000_000.0

    def __call__(self) -> float:
        return self.now


def paid(proofs: Proofs, code: str, bits: int, at_price: int | None = None) -> bool:
    text = proofs.text(code, bits)
    return proofs.paid(code, {"text": text, "number": solve(text)}, bits if at_price is None else at_price)


def test_a_number_that_fits_pays_once_for_its_code() -> None:
    proofs = Proofs("secret")
    text = proofs.text("plum-river-42", 8)
    given = {"text": text, "number": solve(text)}
    assert not proofs.paid("plum-river-43", given, 8)
    assert not Proofs("another").paid("plum-river-42", given, 8)
    assert proofs.paid("plum-river-42", given, 8)
    assert not proofs.paid("plum-river-42", given, 8), "the same text twice"


def test_a_text_is_good_for_a_while_and_at_about_its_price() -> None:
    clock = Clock()
    proofs = Proofs("secret", clock)
    text = proofs.text("plum-river-42", 8)
    given = {"text": text, "number": solve(text)}
    clock.now += 200.0
    assert not proofs.paid("plum-river-42", given, 8)
    assert paid(proofs, "plum-river-42", 8, 10)
    assert not paid(proofs, "plum-river-42", 8, 11), "texts are not laid up while they are cheap"


def test_the_price_stands_in_the_text_and_cannot_be_changed() -> None:
    proofs = Proofs("secret")
    text = "01" + proofs.text("plum-river-42", 8)[2:]
    assert not proofs.paid("plum-river-42", {"text": text, "number": solve(text)}, 1)


@pytest.mark.parametrize("given", [None, 1, "x", [], {}, {"text": 1, "number": "1"}, {"text": "08", "number": "1"},
                                   {"text": "٠" * 38, "number": "1"}, {"text": "f" * 38, "number": "-1"}])
def test_what_is_no_payment(given: object) -> None:
    assert not Proofs("secret").paid("plum-river-42", given, 8)


def test_numbers_fit_by_the_published_digest() -> None:
    # FIPS 180-4's algorithm as hashlib has it; 12 zero bits are three hexadecimal zeros
    text = "12" + "0" * 36
    number = solve(text)
    assert hashlib.sha256(f"{text}:{number}".encode()).hexdigest().startswith("000")
    assert fits(text, number)
    assert not fits(text, str(int(number) + 1))


def test_a_small_class_pays_nothing_and_nobody_is_ever_refused() -> None:
    assert price(39, 9) == 0
    assert [price(joined, 0) for joined in (40, 299, 300, 600, 10_000)] == [13, 13, 15, 17, 17]
    assert [price(0, wrong) for wrong in (10, 59, 60, 200, 10_000)] == [13, 13, 15, 17, 17]


def test_the_price_follows_what_an_address_does_and_falls_again() -> None:
    clock = Clock()
    gate = Gate(clock=clock)
    for _ in range(1000):
        gate.take("wrong", "somebody")
    assert (gate.price("somebody"), gate.price("somebody else")) == (17, 0)
    clock.now += 3600.0
    assert gate.price("somebody") == 0
