"""The force-fatigue equations, solved pulse by pulse with `scipy.integrate.solve_ivp`: what the session engine must meet.

Written apart from the engine: states F, A, K_m and tau_1 as published, a lasting state that raises K_m and lowers A, R0 from
the K_m of each layer at each pulse, no common slow state, no tables. Only the rule of layers (drive u =
clip((r - lower)/width, 0, 1)) is shared.
"""

from __future__ import annotations

import numpy as np
from scipy.integrate import solve_ivp


def layer_drive(recruited, widest=0.2):
    """u (pulses, layers) and the layers' width for one muscle's `recruited` (pulses,)."""
    high = recruited.max()
    count = 1 if recruited.min() == high else max(1, int(np.ceil(high / widest - 1e-9)))
    width = high / count
    return np.clip((recruited[:, None] - width * np.arange(count)) / width, 0.0, 1.0), width


def solve_session(onset_s, recruited, sample_s, muscle, *, method="DOP853", rtol=1e-10, tiring=True):
    """Force in the set's unit at `sample_s`, and the solver's count of right-hand sides.

    `recruited` is (pulses,) for one muscle or (pulses, muscles), all solved as one system; force is shaped alike.
    Every interval between pulses is solved anew: the derivative of C_N jumps at a pulse.
    """
    onset, sample = np.asarray(onset_s) * 1e3, np.asarray(sample_s) * 1e3
    shares = np.asarray(recruited, dtype=float)
    columns = list(shares.reshape(onset.size, -1).T)
    cut = [layer_drive(column) if column.any() else (np.zeros((onset.size, 0)), 0.0) for column in columns]
    u = np.hstack([drive for drive, _ in cut])
    layers = u.shape[1]
    to_muscle = np.zeros((layers, len(columns)))
    at = 0
    for k, (drive, width) in enumerate(cut):
        to_muscle[at : at + drive.shape[1], k] = width
        at += drive.shape[1]
    rest = np.repeat([muscle.a_rest_per_ms, muscle.k_m, muscle.tau_1_ms], layers)
    grow = np.repeat([muscle.alpha_a_per_ms2, muscle.alpha_k_m, muscle.alpha_tau_1], layers) * float(tiring)
    tau_fat, tau_c, tau_2 = muscle.tau_fat_s * 1e3, muscle.tau_c_ms, muscle.tau_2_ms
    tau_lasting, most = muscle.lasting_h * 3.6e6, muscle.lasting_max
    y = np.concatenate((np.zeros(layers), rest, np.zeros(layers)))
    p, q = np.zeros(layers), np.zeros(layers)
    size = np.repeat([muscle.peak_force, *rest[::layers], most], layers)
    force = np.zeros((sample.size, len(columns)))
    calls = 0
    slow = np.empty(3 * layers)
    for i, start in enumerate(onset):
        end = onset[i + 1] if i + 1 < onset.size else max(sample[-1], start)
        if end <= start:
            continue
        if i:
            gap = (start - onset[i - 1]) / tau_c
            decay = np.exp(-gap)
            q = decay * (q + gap * p)
            k_m = y[2 * layers : 3 * layers] + muscle.lasting_k_m * float(tiring) * y[4 * layers :]
            p = decay * p + 1.0 + (k_m + muscle.r0_offset - 1.0) * decay
        else:
            p = np.ones(layers)
        drive = u[i]

        def rate(t, y, p=p, q=q, drive=drive, start=start):
            s = (t - start) / tau_c
            c_n = np.exp(-s) * (q + s * p)
            lasting = y[4 * layers :]
            m = c_n / (y[2 * layers : 3 * layers] + muscle.lasting_k_m * float(tiring) * lasting + c_n)
            power = y[layers : 2 * layers] + muscle.lasting_a_per_ms2 * float(tiring) * lasting
            f = y[:layers]
            np.copyto(slow, np.tile(f, 3))
            return np.concatenate((
                drive * power * m - f / (y[3 * layers : 4 * layers] + tau_2 * m),
                (rest - y[layers : 4 * layers]) / tau_fat + grow * slow,
                -lasting / tau_lasting + f * (1.0 - lasting / most),
            ))

        low, high = np.searchsorted(sample, [start, end], side="right")
        wanted = sample[low:high]
        times = np.append(wanted, end) if not wanted.size or wanted[-1] < end else wanted
        rule = method if end - start < 5e3 else "LSODA"  # a long rest is stiff
        out = solve_ivp(rate, (start, end), y, method=rule, rtol=rtol, atol=rtol * size, t_eval=times)
        assert out.success, out.message
        calls += out.nfev
        y = out.y[:, -1]
        if wanted.size:
            force[low:high] = out.y[:layers, : wanted.size].T @ to_muscle
    return force.reshape(sample.size, *shares.shape[1:]), calls
