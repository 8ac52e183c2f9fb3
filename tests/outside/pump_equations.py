"""The pump's equations a second time, from their textbook form, for the checks beside this file.

A case is a dictionary of the figures of motor, element, hydraulics, supply and demand in SI units, as in
`tests/data/pump/prime.json`.
"""
import math

# A resistance of any kind from here on is a closed path.
CLOSED = 1e24


def orifice(h, area, drop):
    if drop <= 0.0:
        return 0.0
    per_root = h["discharge"] * area * math.sqrt(2.0 / h["density"])
    return per_root * (math.sqrt(drop) if drop > 10.0 else drop / math.sqrt(10.0))


def regulator(h, pa, reference, back):
    r = h["regulator"]
    if r["stuck"] == "shut" or pa <= 0.0:
        return 0.0
    # Even an open one drops 25 Pa over 100 L/h in the program; a check finer than that states it.
    least = h.get("least_slope_pa_s_m3", 0.0)

    def passes(area):
        resistance = h["density"] / (2.0 * (h["discharge"] * area) ** 2) + back
        return (-least + math.sqrt(least * least + 4.0 * resistance * pa)) / (2.0 * resistance)

    spring = (pa - reference - r["set_pa"]) / r["slope_pa_s_m3"]
    asked = max(0.0, min(passes(r["full_area_m2"]), spring))
    return asked if r["stuck"] is None else max(asked, passes(r["stuck"]))


def inlet_limit(h):
    """What the strainer passes at the vapour limit, and no more than is brought."""
    passes = math.sqrt(h["vapour_limit_pa"] / h["strainer_pa_s2_m6"])
    return min(passes, h.get("brought_m3_s", math.inf))


def wheel_pressure(wheel, w, q):
    """Pressure of an impeller at a speed with a flow through it."""
    return wheel["head_pa_s2"] * w * w - wheel["fall_pa_s2_m3"] * w * q - wheel["loss_pa_s2_m6"] * q * q


def wheel_torque(wheel, w, q):
    """Torque of an impeller full of liquid."""
    return wheel["disc_nm_s2"] * w * w + (wheel["head_pa_s2"] + wheel["mixing_pa_s2"]) * w * q


def dead_head_bound(e, w):
    """Pressure that the element does not exceed at a speed."""
    if e.get("wheel"):
        return wheel_pressure(e["wheel"], w, 0.0)
    return e["displacement_m3_rad"] * w / e["leak_m3_s_pa"]


def surplus(e, w, pa):
    """Above nothing if the element delivers against a pressure: flow, or for a wheel pressure."""
    if e.get("wheel"):
        return wheel_pressure(e["wheel"], w, e["leak_m3_s_pa"] * pa) - pa
    return e["displacement_m3_rad"] * w - e["leak_m3_s_pa"] * pa


def strainer_flow(e, h, w, pa, brentq):
    """S = D w - c (pa + k S^2), or for a wheel its pressure at S + g pa = pa + k S^2; not beyond what the strainer passes at
    the vapour limit."""
    c, k = e["leak_m3_s_pa"], h["strainer_pa_s2_m6"]
    over = surplus(e, w, pa)
    if over <= 0.0:
        return 0.0
    limit = inlet_limit(h)
    if e.get("wheel"):
        def short(s):
            return wheel_pressure(e["wheel"], w, s + c * pa) - pa - k * s * s

        high = math.sqrt(over / (k + e["wheel"]["loss_pa_s2_m6"]))
        if limit < high and short(limit) >= 0.0:
            return limit
        return brentq(short, 0.0, high * (1.0 + 1e-12), xtol=1e-30, rtol=1e-15) if short(high) < 0.0 else high
    s = (-1.0 + math.sqrt(1.0 + 4.0 * c * k * over)) / (2.0 * c * k)
    return min(s, limit)


def chamber(e, h, w, outlet, brentq):
    """Flow through the check valve and load torque."""
    c, k = e["leak_m3_s_pa"], h["strainer_pa_s2_m6"]
    valve = h["check_valve"]
    if w <= 0.0 or k >= CLOSED or h.get("tank_empty"):
        return -orifice(h, valve["leak_m2"], outlet), 0.0

    def relief(pa):
        return max(0.0, (pa - h["relief_pa"]) / h["relief_slope_pa_s_m3"])

    def left(pa):
        over = surplus(e, w, pa)
        return (over if over < 0.0 else strainer_flow(e, h, w, pa, brentq)) - relief(pa)

    pa = outlet + valve["crack_pa"]
    delivered = left(pa)
    if delivered <= 0.0:
        pa = brentq(left, 0.0, pa, xtol=1e-9, rtol=1e-15)
        delivered = -orifice(h, valve["leak_m2"], outlet - pa)
    s = strainer_flow(e, h, w, pa, brentq)
    limit = inlet_limit(h)
    rise = pa + min(k * s * s, h["vapour_limit_pa"])
    if e.get("wheel"):
        # A starved wheel turns in a mixture: head and torque follow its density.
        q = s + c * pa
        full = wheel_pressure(e["wheel"], w, q)
        return delivered, wheel_torque(e["wheel"], w, q) * (rise / full if s >= limit else 1.0)
    torque = rise * e["displacement_m3_rad"]
    if s >= limit:
        torque = min(torque, rise * (s + c * rise) / w)
    return delivered, torque


def line_flow(h, drop):
    """Flow along filter and line, from a drop = b Q + a Q^2."""
    a, b = h["line_pa_s2_m6"], h["filter_pa_s_m3"]
    if max(a, b) >= CLOSED:
        return 0.0
    return math.copysign((-b + math.sqrt(b * b + 4.0 * a * abs(drop))) / (2.0 * a), drop)


def hose_out(h, outlet):
    """What leaves the hose beside the line: a split, and a regulator in the tank."""
    in_tank = h["regulator"]["place"] == "tank"
    return orifice(h, h["in_tank_leak_m2"], outlet) + (regulator(h, outlet, 0.0, 0.0) if in_tank else 0.0)


def rail_out(h, d, rail):
    """What leaves the rail: through its regulator, the injectors and past their seats."""
    if rail <= 0.0:
        return 0.0
    across = rail - d["manifold_pa"]
    liquid = min(1.0, rail / 1e3)
    out = 0.0 if h["regulator"]["place"] == "tank" else regulator(h, rail, d["manifold_pa"], h["return_pa_s2_m6"])
    out += liquid * d["injectors_m3_s"] * math.sqrt(across / h["injector_rated_pa"])
    return out + liquid * orifice(h, h["injector_leak_m2"], across)


def loop(case):
    """Volts that drive the motor's loop, and its ohms as the mean current sees them."""
    m = case["motor"]
    live = 1.0 - m["dead_segments"] / m["segments"]
    if m.get("seized") and live > 0.0:
        live = 1.0
    return case["supply"]["volts"], (case["supply"]["ohms"] + m["winding_ohms"] + m["brush_ohms"]) / live


def rates(case, y, brentq):
    m, e, h, d = case["motor"], case["element"], case["hydraulics"], case["demand"]
    i, w, outlet, rail = y
    outlet, rail = max(outlet, 0.0), max(rail, 0.0)
    volts, ohms = loop(case)
    # A prime drives one way only: brush drop and dry friction oppose, and hold what they can.
    di = (volts - m["ke"] * w - ohms * i - m["brush_volts"]) / m["inductance_h"]
    if i <= 0.0:
        di = max(di, 0.0)
    delivered, load = chamber(e, h, w, outlet, brentq)
    dw = (m["ke"] * i - load - m["viscous_nm_s"] * w - m["dry_nm"]) / m["inertia_kg_m2"]
    if w <= 0.0:
        dw = max(dw, 0.0)
    line = line_flow(h, outlet - rail)
    d_outlet = (delivered - hose_out(h, outlet) - line) / h["hose_compliance_m3_pa"]
    d_rail = (line - rail_out(h, d, rail)) / h["compliance_m3_pa"]
    if d["outlet"] == "line_into_can":
        d_rail = 0.0
    return [di, dw, d_outlet, d_rail]
