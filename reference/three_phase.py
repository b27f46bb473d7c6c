"""Reference figures for three-phase motors, by symmetrical components and by integration over time.

The crate `machine` couples any coils through two fields that turn with and against the rotor. Here a motor is its two
sequence impedances (Fortescue, "Method of symmetrical co-ordinates applied to the solution of polyphase networks", AIEE
Trans. 37, 1918): Z1 at slip s, Z2 at 2 - s, and what stands around it is solved by hand algebra. One case is solved a
second time as differential equations in the coordinates of the stator (SciPy), which knows nothing of slip or sequence.

    python reference/three_phase.py           writes crates/machine/tests/data/three_phase.json
    python reference/three_phase.py --check   says whether that file is still what this program computes
"""

import argparse
import json
import pathlib
import sys

import numpy as np
import scipy.integrate
import scipy.optimize

TOLERANCE = 1e-9
TARGET = pathlib.Path(__file__).resolve().parent.parent / "crates/machine/tests/data/three_phase.json"

# Chapman, Electric Machinery Fundamentals, the worked 25 hp motor: 460 V, 60 Hz, four poles, star, ohms per phase.
# Values read at homeworksource.com/p/1077681; the book's answers, from memory: 18.88 A at -33.6 degrees, 12 530 W in,
# 11 845 W across the gap, 62.8 N m.
R1, X1, R2, X2, XM = 0.641, 1.106, 0.332, 0.464, 26.3
VOLTS, HERTZ, POLES, SLIP = 460.0, 60.0, 4, 0.022
SYNCHRONOUS = 4.0 * np.pi * HERTZ / POLES
A = np.exp(2j * np.pi / 3)
# What the book prints, and how far its rounding on the way may have moved it.
BOOK = [("amps", 18.88, 0.02), ("angle_degrees", -33.6, 0.1), ("watts", 12530, 20), ("gap_watts", 11845, 20),
        ("torque", 62.8, 0.1)]


def gap(slip):
    return 1.0 / (1.0 / (1j * XM) + 1.0 / (R2 / slip + 1j * X2))


def sequence(slip):
    return R1 + 1j * X1 + gap(slip)


def torque(positive, negative, slip):
    """From the sequence currents of one phase of the star."""
    forward, backward = 3 * abs(positive) ** 2 * gap(slip).real, 3 * abs(negative) ** 2 * gap(2 - slip).real
    return (forward - backward) / SYNCHRONOUS


def sequences(phases):
    a, b, c = phases
    return (a + A * b + A * A * c) / 3, (a + A * A * b + A * c) / 3


def phases(positive, negative):
    return positive + negative, A * A * positive + A * negative, A * positive + A * A * negative


def balanced(slip):
    volts = VOLTS / np.sqrt(3)
    current = volts / sequence(slip)
    return {
        "slip": slip,
        "amps": abs(current),
        "angle_degrees": np.degrees(np.angle(current)),
        "watts": 3 * (volts * np.conj(current)).real,
        "gap_watts": 3 * abs(current) ** 2 * gap(slip).real,
        "torque": torque(current, 0.0, slip),
    }


def one_line_open(slip):
    """Line u open: I_u = 0, I_v = -I_w, so I1 = -I2 and the volts from v to w drive I_v through Z1 + Z2."""
    a, b, c = (VOLTS / np.sqrt(3) * turn for turn in (1.0, A * A, A))
    current = (b - c) / (sequence(slip) + sequence(2 - slip))
    positive, negative = sequences((0.0, current, -current))
    # Terminal u against the star point, and against the earthed neutral: the star point sits midway between v and w.
    phase_volts = phases(positive * sequence(slip), negative * sequence(2 - slip))
    star = (b + c) / 2 - (phase_volts[1] + phase_volts[2]) / 2
    dead = phase_volts[0] + star
    return {
        "slip": slip,
        "amps": abs(current),
        "torque": torque(positive, negative, slip),
        "dead_terminal_to_neutral": abs(dead),
        "dead_terminal_to_next_line": abs(dead - b),
    }


def delta_with_one_line_open(slip):
    """The same motor wound in delta, three times the ohms: currents inside its phases from the sequence currents.

    A delta phase from u to v carries, of each sequence, the line current over sqrt(3), turned by 30 degrees forward for
    the positive and backward for the negative sequence.
    """
    a, b, c = (VOLTS / np.sqrt(3) * turn for turn in (1.0, A * A, A))
    current = (b - c) / (sequence(slip) + sequence(2 - slip))
    positive, negative = sequences((0.0, current, -current))
    inside = phases(positive / np.sqrt(3) * np.exp(1j * np.pi / 6), negative / np.sqrt(3) * np.exp(-1j * np.pi / 6))
    return {"slip": slip, "line_amps": abs(current), "phase_amps": [abs(phase) for phase in inside]}


# Line to neutral, volts and degrees; the lines to neutral of a star point that carries nothing.
UNBALANCED = [(265.58, 0.0), (260.0, -121.0), (268.0, 119.5)]


def unbalanced(slip):
    supply = [size * np.exp(1j * np.radians(angle)) for size, angle in UNBALANCED]
    positive_volts, negative_volts = sequences(supply)
    positive, negative = positive_volts / sequence(slip), negative_volts / sequence(2 - slip)
    between = [abs(supply[0] - supply[1]), abs(supply[1] - supply[2]), abs(supply[2] - supply[0])]
    amps = [abs(phase) for phase in phases(positive, negative)]
    return {
        "slip": slip,
        "supply": UNBALANCED,
        "amps": amps,
        "negative_amps": abs(negative),
        "torque": torque(positive, negative, slip),
        "volts_unbalance": unbalance(between),
        "amps_unbalance": unbalance(amps),
    }


def unbalance(values):
    """Largest deviation from the mean over the mean (the trade's definition, NEMA MG 1 14.36, from memory)."""
    return max(abs(value - np.mean(values)) for value in values) / np.mean(values)


def torque_over_time(slip):
    """Mean torque and the size of phase u's current, integrated over time at constant speed.

    Stator coordinates, complex space vectors of flux with peak values; leakage and magnetising inductance per phase.
    """
    omega, speed = 2 * np.pi * HERTZ, 2 * np.pi * HERTZ * (1 - slip)
    ls, lr, lm = (X1 + XM) / omega, (X2 + XM) / omega, XM / omega
    inverse = np.linalg.inv(np.array([[ls, lm], [lm, lr]]))
    supply = [np.sqrt(2) * size * np.exp(1j * np.radians(angle)) for size, angle in UNBALANCED]

    def vector(time):
        a, b, c = ((volts * np.exp(1j * omega * time)).real for volts in supply)
        return 2 / 3 * (a + A * b + A * A * c)

    def change(time, flux):
        stator, rotor = inverse @ flux
        return np.array([vector(time) - R1 * stator, -R2 * rotor + 1j * speed * flux[1]])

    settled, period = 1.5, 1 / HERTZ
    times = settled + np.linspace(0.0, period, 401)
    run = scipy.integrate.solve_ivp(
        change, (0.0, times[-1]), np.zeros(2, complex), t_eval=times, rtol=1e-9, atol=1e-10, method="DOP853")
    stator = inverse[0] @ run.y
    moment = 1.5 * POLES / 2 * (np.conj(run.y[0]) * stator).imag
    mean = np.trapezoid(moment, times) / period
    return mean, np.sqrt(np.trapezoid(stator.real**2, times) / period)


def steinmetz():
    """Delta motor on one phase: its volts across u and v, a capacitor from w.

    Balance needs the current of the third line at the volts of that line, turned as a capacitor turns it: a power factor
    of one half, and C = I / (omega V) = 2 P / (sqrt(3) omega V^2) with the watts taken in.
    """
    slip = scipy.optimize.brentq(lambda s: np.angle(sequence(s)) - np.pi / 3, 1e-4, 0.02, xtol=1e-15)
    current = VOLTS / np.sqrt(3) / abs(sequence(slip))
    farads = current / (2 * np.pi * HERTZ * VOLTS)
    watts = np.sqrt(3) * VOLTS * current * 0.5
    assert abs(farads - 2 * watts / (np.sqrt(3) * 2 * np.pi * HERTZ * VOLTS**2)) < 1e-12 * farads
    return {"slip": slip, "line_amps": current, "microfarads": 1e6 * farads, "watts": watts}


def generate():
    unbalance_case = unbalanced(SLIP)
    mean, amps = torque_over_time(SLIP)
    assert abs(mean / unbalance_case["torque"] - 1) < 2e-4, (mean, unbalance_case["torque"])
    assert abs(amps / unbalance_case["amps"][0] - 1) < 2e-4, (amps, unbalance_case["amps"])
    book = balanced(SLIP)
    for name, printed, digit in BOOK:
        assert abs(book[name] - printed) <= digit, (name, book[name], printed)
    return {
        "motor": {"r1": R1, "x1": X1, "r2": R2, "x2": X2, "xm": XM, "volts": VOLTS, "hertz": HERTZ, "poles": POLES},
        "balanced": [balanced(slip) for slip in (SLIP, 0.1, 1.0)],
        "one_line_open": [one_line_open(slip) for slip in (SLIP, 0.005, 0.1, 0.5, 1.0)],
        "delta_with_one_line_open": delta_with_one_line_open(SLIP),
        "unbalanced": unbalance_case,
        "steinmetz": steinmetz(),
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
        # Torque at standstill on one phase is nothing but rounding.
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
    print("the stored three-phase figures agree with this program")
    return 0


if __name__ == "__main__":
    sys.exit(main())
