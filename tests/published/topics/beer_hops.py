# SPDX-FileCopyrightText: the Rundlet developers
# SPDX-License-Identifier: GPL-3.0-or-later
"""What answers the rows of beer_hops.csv: see ../test_rows.py."""

SHORT = "1e-5 min"  # so short that nothing of what was made is lost again, to seven digits


def rate_of_making(at):
    """k1 per minute, as the first moment of isomerising gives it."""
    return f"(number(isomerised({SHORT}, at: {at})) / 1e-3)"


def rate_of_loss(at):
    """k2 per minute: after t and 2 t the shares made are as 1 to exp(-k1 t) + exp(-k2 t)."""
    later = f"isomerised(60 min, at: {at}) / isomerised(30 min, at: {at})"
    return f"(-ln({later} - exp(-30 * {rate_of_making(at)})) / 30)"


def activation_energy(inputs):
    """From the rates at 95 and 105 °C, in kJ/mol; the gas constant is that of CODATA, 8.314 J/(mol K)."""
    rate = {"degradation": rate_of_loss, "isomerisation": rate_of_making}[inputs["of"]]
    return f"ln({rate('105 °C')} / {rate('95 °C')}) * 8.314462e-3 / (1 / 368.15 - 1 / 378.15)"


def cooling_stand(inputs):
    """The alpha acids gone while a stand cools along an exponential, in 200 steps."""
    begin, around = (float(inputs[name].removesuffix(" °C")) for name in ("T0", "Ta"))
    time, constant = (float(inputs[name].removesuffix(" min")) for name in ("t", "tau"))
    step = time / 200
    at = f"({around} + {begin - around} * exp(-(n - 0.5) * {step} / {constant})) °C"
    return f"100 * (1 - exp(-{step} * sum([{rate_of_making(at)} for n in range(1, 200)])))"


def aged(inputs):
    """What is left; the storage factor sf of a row slows the loss as less time would."""
    return (f"number(alpha_left({inputs['alpha']}, {inputs['days']} day * {inputs['sf']}, at: {inputs['T']}, "
            f"lost: {inputs['lost180']}))")


TOPICS = {
    "hops.Ea": activation_energy,
    "hops.k1": lambda inputs: "1000 * " + rate_of_making(inputs["T"]),
    "hops.k2": lambda inputs: "1000 * " + rate_of_loss(inputs["T"]),
    "hops.half_life": lambda inputs: "ln(2) / " + rate_of_making(inputs["T"]),
    "hops.iso": "number(isomerised({t}, at: {T}))",
    "hops.iso_max": "number(isomerised(find t from 1 min to 10 h most isomerised(t, at: {T}), at: {T}))",
    "hops.cool_iso": cooling_stand,
    "hops.tinseth": 'number(utilisation({t}, gravity: {SG} SG, by: "tinseth")) / 100',
    "hops.rager": 'number(utilisation({t}, by: "rager")) / 100',
    "hops.hsi_loss": lambda inputs: f"number(alpha_lost({inputs['HSI']}, slope: {inputs.get('slope', '110')}))",
    "hops.aging": aged,
}

PLAIN = {
    "hops.ibu": ("number({mass} * {alpha} / {V} * {utilisation} as IBU)", "a share is given: the row checks the units alone"),
    "hops.bu": ("50 * {A275}", "it defines the bitterness units of a laboratory, which no formula of the library gives"),
}
