"""Reference figures for single-phase motors, from their differential equations integrated over time.

The crate `machine` solves phasors of two fields that turn with and against the rotor. Here nothing is a phasor: stator
windings, capacitor and a rotor of two coils at right angles are coupled differential equations in the coordinates of the
stator (Krause, Wasynczuk and Sudhoff, "Analysis of Electric Machinery", unsymmetrical two-phase machines, from memory),
the speed is held, and the fundamental, the mean powers and the mean torque are taken over whole cycles once the run has
become steady.

    python reference/time_domain.py           writes crates/machine/tests/data/time_domain.json
    python reference/time_domain.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np
import scipy.integrate

# The integration is good to about a millionth, and its last digits depend on the library; the test asks for less.
TOLERANCE = 1e-6
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/machine/tests/data/time_domain.json"
SAMPLES = 512

# Fitzgerald, Kingsley and Umans, Electric Machinery, 6th ed., example 9.5: 230 V, 60 Hz, two poles, 35 uF; supply on the
# main winding, reversed on auxiliary winding and capacitor. Ohms and henries, the rotor not referred.
CAPACITOR_RUN = {
    "volts": 230.0, "hertz": 60.0, "poles": 2, "microfarads": 35.0,
    "main_ohms": 0.58, "main_henries": 80.6e-3, "auxiliary_ohms": 3.37, "auxiliary_henries": 196e-3,
    "rotor_ohms": 37.6e-6, "rotor_henries": 4.7e-6, "main_mutual": 0.588e-3, "auxiliary_mutual": 0.909e-3,
}
# What the book prints for 3500 r/min, and how far its rounding may have moved it: amperes, capacitor volts, newton metres.
BOOK = [("main", 15.9, 0.05), ("auxiliary", 5.20, 0.01), ("capacitor", 394.0, 0.5), ("torque", 9.74, 0.01)]

# The same, example 9.2: 110 V, 60 Hz, four poles, on its main winding alone; ohms at 60 Hz, referred to that winding.
MAIN_ALONE = {"volts": 110.0, "hertz": 60.0, "poles": 4, "r1": 2.02, "x1": 2.79, "r2": 4.12, "x2": 2.12, "xm": 66.8}


def from_reactances(m):
    """A motor on its main winding alone as inductances; the auxiliary winding is there, but its current is held at nothing."""
    omega = 2 * np.pi * m["hertz"]
    return {
        "volts": m["volts"], "hertz": m["hertz"], "poles": m["poles"], "microfarads": None,
        "main_ohms": m["r1"], "main_henries": (m["x1"] + m["xm"]) / omega,
        "rotor_ohms": m["r2"], "rotor_henries": (m["x2"] + m["xm"]) / omega, "main_mutual": m["xm"] / omega,
    }


def run(m, ratio):
    """The motor at a share of synchronous speed: RMS phasors against the supply, mean watts, mean torque.

    States are the currents of main winding, auxiliary winding, and rotor along and across the main axis, then the volts
    of the capacitor; without a capacitor the auxiliary winding is left out.
    """
    omega = 2 * np.pi * m["hertz"]
    turning = ratio * omega
    peak = np.sqrt(2) * m["volts"]
    rotor_ohms, rotor = m["rotor_ohms"], m["rotor_henries"]
    has_auxiliary = m["microfarads"] is not None
    if has_auxiliary:
        inductance = np.array([
            [m["main_henries"], 0.0, m["main_mutual"], 0.0],
            [0.0, m["auxiliary_henries"], 0.0, m["auxiliary_mutual"]],
            [m["main_mutual"], 0.0, rotor, 0.0],
            [0.0, m["auxiliary_mutual"], 0.0, rotor],
        ])
        ohms = np.array([m["main_ohms"], m["auxiliary_ohms"], rotor_ohms, rotor_ohms])
        along, across = 2, 3
    else:
        inductance = np.array([
            [m["main_henries"], m["main_mutual"], 0.0],
            [m["main_mutual"], rotor, 0.0],
            [0.0, 0.0, rotor],
        ])
        ohms = np.array([m["main_ohms"], rotor_ohms, rotor_ohms])
        along, across = 1, 2
    inverse = np.linalg.inv(inductance)
    count = len(ohms)

    def change(time, state):
        supply = peak * np.cos(omega * time)
        current = state[:count]
        flux = inductance @ current
        volts = -ohms * current
        volts[0] += supply
        if has_auxiliary:
            volts[1] += -supply - state[count]
        # Volts of motion: the rotor turns from the main axis towards the auxiliary one.
        volts[along] -= turning * flux[across]
        volts[across] += turning * flux[along]
        rates = inverse @ volts
        return np.append(rates, current[1] / (1e-6 * m["microfarads"])) if has_auxiliary else rates

    period = 1 / m["hertz"]
    state, before, cycles = np.zeros(count + has_auxiliary), None, 0
    sample_times = np.arange(SAMPLES + 1) * period / SAMPLES
    # Whole cycles until one is like the one ten before it.
    while True:
        step = scipy.integrate.solve_ivp(
            change, (0.0, 10 * period), state, t_eval=9 * period + sample_times, rtol=1e-11, atol=1e-11, method="DOP853")
        state, cycles, wave = step.y[:, -1], cycles + 10, step.y
        scale = np.abs(wave).max(axis=1, keepdims=True) + 1e-9
        if before is not None and np.max(np.abs(wave - before) / scale) < 1e-8:
            break
        assert cycles < 2000, "the run does not become steady"
        before = wave

    times, wave = sample_times[:-1], wave[:, :-1]
    turn = np.exp(-1j * omega * times)

    def phasor(values):
        value = 2 / SAMPLES * np.sum(values * turn) / np.sqrt(2)
        return [float(value.real), float(value.imag)]

    supply = peak * np.cos(omega * times)
    currents = wave[:count]
    torque = -m["main_mutual"] * currents[0] * currents[across]
    figures = {"ratio": ratio, "main": phasor(currents[0]), "main_watts": float(np.mean(supply * currents[0]))}
    if has_auxiliary:
        torque += m["auxiliary_mutual"] * currents[1] * currents[along]
        figures["auxiliary"] = phasor(currents[1])
        figures["auxiliary_watts"] = float(np.mean(-supply * currents[1]))
        figures["capacitor"] = phasor(wave[count])
    figures["rotor_watts"] = float(rotor_ohms * np.mean(currents[along] ** 2 + currents[across] ** 2))
    figures["torque"] = float(m["poles"] / 2 * np.mean(torque))
    figures["watts"] = figures["main_watts"] + figures.get("auxiliary_watts", 0.0)
    # Nothing of this comes from phasors, so that input and losses agree says that the run is steady and whole.
    copper = float(sum(ohm * np.mean(current**2) for ohm, current in zip(ohms[:along], currents[:along])))
    converted = figures["torque"] * turning / (m["poles"] / 2)
    left = figures["watts"] - copper - figures["rotor_watts"] - converted
    assert abs(left) < 1e-6 * figures["watts"], f"{left} W are missing"
    return figures


def generate():
    # Millionths, to which the crate can hold a speed.
    capacitor_run = [run(CAPACITOR_RUN, round(rpm / 3600, 6)) for rpm in (0.0, 1800.0, 3400.0, 3500.0)]
    rated = capacitor_run[-1]
    for name, printed, digit in BOOK:
        value = abs(complex(*rated[name])) if isinstance(rated[name], list) else rated[name]
        assert abs(value - printed) <= digit, (name, value, printed)
    alone = from_reactances(MAIN_ALONE)
    return {
        "capacitor_run": {"motor": CAPACITOR_RUN, "points": capacitor_run},
        "main_alone": {"motor": MAIN_ALONE, "points": [run(alone, ratio) for ratio in (0.0, 0.5, 0.95)]},
    }


def as_text(figures):
    return json.dumps(figures, indent=1) + "\n"


def difference(stored, computed, place="figures"):
    """Where two nests of lists and numbers differ, or None."""
    if isinstance(computed, dict):
        if not isinstance(stored, dict) or stored.keys() != computed.keys():
            return f"{place} has other fields"
        pairs = [(stored[name], computed[name], f"{place}.{name}") for name in computed]
    elif isinstance(computed, (list, tuple)):
        if not isinstance(stored, list) or len(stored) != len(computed):
            return f"{place} has another length"
        pairs = [(a, b, f"{place}[{index}]") for index, (a, b) in enumerate(zip(stored, computed))]
    else:
        # Torque of one winding at standstill is nothing but rounding.
        near = abs(stored - computed) <= TOLERANCE * max(abs(computed), 1.0)
        return None if near else f"{place} is {stored}, computed {computed}"
    return next((found for found in (difference(*pair) for pair in pairs) if found), None)


def main():
    parser = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    parser.add_argument("--check", action="store_true", help="compare with the stored figures instead of writing them")
    if not parser.parse_args().check:
        TARGET.parent.mkdir(parents=True, exist_ok=True)
        TARGET.write_text(as_text(generate()), encoding="utf-8")
        print(f"wrote {TARGET}")
        return 0
    try:
        stored = json.loads(TARGET.read_text(encoding="utf-8"))
    except (OSError, ValueError) as error:
        print(f"cannot read the stored figures: {error}", file=sys.stderr)
        return 1
    found = difference(stored, generate())
    if found:
        print(f"the stored figures are not what this program computes; {found}", file=sys.stderr)
        return 1
    print("the stored figures of the runs over time agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
