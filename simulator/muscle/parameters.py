"""Parameter sets of the force model, as one frozen record each."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields, replace
from functools import cache

import numpy as np
from numpy.typing import NDArray

from .. import facts

__all__ = ["PARAMETER_SETS", "MuscleParameters", "parameter_set"]

Floats = NDArray[np.float64]

PARAMETER_SETS = ("quadriceps", "able", "paralysed", "resistant", "forearm extensors")
"""The named sets. "able": hands whose muscle is not paralysed, also after a stroke; "resistant": the same with slower tiring;
"forearm extensors": another name of "able"."""


@dataclass(frozen=True, slots=True)
class MuscleParameters:
    """Constants of the force-fatigue model; ``dataclasses.replace`` makes a variant.

    Force is in the set's own unit: newtons (quadriceps) or per cent of the 100-Hz peak (the forearm sets).
    Scaling ``a_rest_per_ms`` by s scales force by s; then divide ``alpha_k_m``, ``alpha_tau_1`` and
    ``lasting_k_m`` by s, keep ``alpha_a_per_ms2`` and
    ``lasting_a_per_ms2``, and scale ``lasting_max`` and ``peak_force`` by s, or a weak muscle hardly
    tires.

    Attributes
    ----------
    tau_c_ms, tau_1_ms, tau_2_ms : float
        Time constants of activation, of relaxation at rest, and of relaxation added by bound cross-bridges.
    k_m : float
        Sensitivity to activation at rest (half-saturation of C_N).
    a_rest_per_ms : float
        Force rate at rest, unit of force per ms.
    r0_offset : float
        R0 = K_m + this: how much a pulse gains from the one just before.
    alpha_a_per_ms2, alpha_k_m, alpha_tau_1 : float
        How fast A [ms^-2], K_m [ms^-1 unit^-1] and tau_1 [unit^-1] change with force. The first is negative.
    tau_fat_s : float
        Time constant of recovery.
    lasting_k_m, lasting_a_per_ms2 : float
        How fast K_m [ms^-1 unit^-1] and A [ms^-2] change with the lasting state L. The second is not positive.
    lasting_max : float
        Where L levels off [unit x ms].
    lasting_h : float
        Time constant with which L recovers.
    peak_force : float
        Peak of an untired 1-s train at 100 Hz in the set's unit; what ``f_max_n`` newtons stand for.

    Raises
    ------
    ValueError
        A constant that is not finite or has the wrong sign.
    """

    tau_c_ms: float
    tau_1_ms: float
    tau_2_ms: float
    k_m: float
    a_rest_per_ms: float
    r0_offset: float
    alpha_a_per_ms2: float
    alpha_k_m: float
    alpha_tau_1: float
    tau_fat_s: float
    lasting_k_m: float
    lasting_a_per_ms2: float
    lasting_max: float
    lasting_h: float
    peak_force: float

    def __post_init__(self) -> None:
        positive = (
            "tau_c_ms", "tau_1_ms", "k_m", "a_rest_per_ms", "r0_offset", "tau_fat_s", "lasting_max", "lasting_h",
            "peak_force",
        )
        for field in fields(self):
            value = getattr(self, field.name)
            rule = "finite"
            good = math.isfinite(value)
            if field.name in positive:
                rule, good = "finite and above 0", good and value > 0
            elif field.name in ("alpha_a_per_ms2", "lasting_a_per_ms2"):
                rule, good = "finite and at most 0", good and value <= 0
            else:
                rule, good = "finite and at least 0", good and value >= 0
            if not good:
                raise ValueError(f"'parameters.{field.name}' must be {rule} (got {value:g}); check its unit")

    def a_per_ms(self, slow: Floats, lasting: Floats) -> Floats:
        """A at slow states S and L, never below 0."""
        return np.maximum(self.a_rest_per_ms + self.alpha_a_per_ms2 * slow + self.lasting_a_per_ms2 * lasting, 0.0)

    def k_m_at(self, slow: Floats, lasting: Floats) -> Floats:
        """K_m at slow states S and L."""
        return self.k_m + self.alpha_k_m * slow + self.lasting_k_m * lasting

    def tiring_scaled(self, factor: float) -> MuscleParameters:
        """The same muscle with all three alphas, and what lasts, times `factor`."""
        return replace(
            self,
            alpha_a_per_ms2=self.alpha_a_per_ms2 * factor,
            alpha_k_m=self.alpha_k_m * factor,
            alpha_tau_1=self.alpha_tau_1 * factor,
            lasting_k_m=self.lasting_k_m * factor,
            lasting_a_per_ms2=self.lasting_a_per_ms2 * factor,
        )


def parameter_set(parameters: str | MuscleParameters) -> MuscleParameters:
    """A named set, or the record itself.

    Raises
    ------
    ValueError
        A name that is none of `PARAMETER_SETS`.
    """
    if isinstance(parameters, MuscleParameters):
        return parameters
    if parameters not in PARAMETER_SETS:
        known = ", ".join(PARAMETER_SETS)
        raise ValueError(f"'parameters' must be one of {known} (got {parameters!r}); or pass a MuscleParameters record")
    return _named(parameters)


@cache
def _named(name: str) -> MuscleParameters:
    table = "able" if name in ("resistant", "forearm extensors") else name
    base = MuscleParameters(**{f.name: facts.number(f"muscle.{table}.{f.name}") for f in fields(MuscleParameters)})
    return base.tiring_scaled(facts.number("muscle.tiring_factor.resistant")) if name == "resistant" else base
