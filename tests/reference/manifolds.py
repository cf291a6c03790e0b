"""Slots and slotted ducts: contour integration, marching from the dead end, differential equations."""

import functools
import math

import fluids
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

STILL = 1e-12


def free_streamline(u1, u2):
    """Discharge coefficient of a sharp slot across one wall of a deep duct, by integrating the hodograph.

    Speeds over the jet's: u1 before, u2 after. In the plane of the complex velocity w the flow fills the
    lower half of the unit disc: source u1 and sink u2 on the real axis, the jet on the circle at
    cos(theta) = (u1 + u2)/2, each with its images. The slot is the integral of dW/w from lip to lip,
    taken on an ellipse inside; both lips lie on one wall, so its imaginary part must vanish.
    """
    c = 0.5 * (u1 + u2)
    jets = [complex(c, s * math.sqrt(1.0 - c * c)) for s in (-1.0, 1.0)]

    def wall(w, u):
        # u * (1/(w - u) + 1/(w - 1/u)) without dividing by u.
        return u / (w - u) + u * u / (u * w - 1.0)

    def slope(w):
        if u1 == u2:
            # Limit of a small slot: the derivative of `wall` by u.
            u = u1
            walls = 1.0 / (w - u) + u / (w - u) ** 2 + (u * (u * w - 2.0)) / (u * w - 1.0) ** 2
        else:
            walls = (wall(w, u1) - wall(w, u2)) / (u1 - u2)
        return (walls - sum(1.0 / (w - jet) for jet in jets)) / math.pi

    def integrand(t):
        w = complex(math.cos(t), -0.4 * math.sin(t))
        return slope(w) / w * complex(-math.sin(t), -0.4 * math.cos(t))

    width = quad(lambda t: integrand(t).real, 0.0, math.pi, epsabs=1e-13, limit=400)[0]
    closing = quad(lambda t: integrand(t).imag, 0.0, math.pi, epsabs=1e-13, limit=400)[0]
    assert abs(closing) < 1e-9, f"the slot's lips do not meet the wall: {closing}"
    return 1.0 / abs(width)


MODELS = {
    "cross_flow_sharp": lambda r, cd: 0.63 - 0.58 * r,
    "cross_flow_formed": lambda r, cd: 0.975 * (1.0 - r) ** 0.375,
    "free_streamline": lambda r, cd: free_streamline(math.sqrt(r), math.sqrt(r)),
    "constant_total": lambda r, cd: cd,
    "constant_static": lambda r, cd: cd * math.sqrt(1.0 - r),
}


def coefficient(row):
    return MODELS[row["reference"]](float(row["r"]), float(row["cd"] or 0))


def single_slot(row):
    """Flow of one slot with set duct flows and set pressure."""
    rho, e, duct = float(row["rho"]), float(row["e_pa"]), float(row["duct_area_m2"])
    before, after = float(row["q_before_m3_s"]), float(row["q_after_m3_s"])
    upstream = before if before + after >= 0.0 else after
    v = (upstream if row["velocity"] == "upstream" else 0.5 * (before + after)) / duct
    cd = MODELS[row["model"]](0.5 * rho * v * v / e, float(row["cd"] or 0))
    return cd * float(row["slot_area_m2"]) * math.sqrt(2.0 * e / rho)


def friction_fall(v, row):
    """Total pressure lost over one spacing."""
    if v < STILL:
        return 0.0
    w, h, rho = float(row["duct_w_m"]), float(row["duct_h_m"]), float(row["rho"])
    d = 2.0 * w * h / (w + h)
    f = fluids.friction.Clamond(rho * v * d / float(row["mu"]), float(row["eps_m"]) / d)
    return f * float(row["spacing_m"]) / d * 0.5 * rho * v * v


@functools.cache
def march(items):
    """Flows from the dead end on, the total pressures at the slots, for a set total flow."""
    row = dict(items)
    rho, area, n = float(row["rho"]), float(row["duct_w_m"]) * float(row["duct_h_m"]), int(row["n_ports"])
    a, total = float(row["port_area_m2"]), float(row["q_total_m3_s"])
    share = 1.0 if row["velocity"] == "upstream" else 0.5

    def run(e):
        flows, pressures, v = [], [], 0.0
        for port in range(n):
            if port:
                e += friction_fall(v, row)

            def wrong(q, e=e, v=v):
                seen = v + share * q / area
                return q - MODELS[row["model"]](0.5 * rho * seen * seen / e, 0.0) * a * math.sqrt(2.0 * e / rho)

            q = brentq(wrong, 0.0, a * math.sqrt(2.0 * e / rho), xtol=1e-16, rtol=1e-14)
            v += q / area
            flows.append(q)
            pressures.append(e)
        return flows, pressures

    guess = 0.5 * rho * (total / (0.6 * a * n)) ** 2
    e = brentq(lambda e: sum(run(e)[0]) - total, 0.3 * guess, 5.0 * guess, xtol=1e-12, rtol=1e-14)
    return run(e)


def dead_end_march(row):
    keys = ("rho", "mu", "duct_w_m", "duct_h_m", "n_ports", "port_area_m2", "q_total_m3_s", "velocity", "model", "spacing_m", "eps_m")
    flows, pressures = march(tuple((key, row[key]) for key in keys))
    return flows[int(row["port"]) - 1] if row["quantity"] == "flow" else pressures[int(row["port"]) - 1]


def continuous_slot(row):
    """A slot over the whole length of a duct: closed forms without friction, else the equation."""
    ratio, friction = float(row["ratio"]), float(row["f_l_over_d"])
    if row["model"] == "constant_static":
        u, e, q = math.sin(ratio), 1.0, math.cos(ratio)
    elif friction == 0.0:
        u = math.sqrt(0.63 / 0.58) * math.tanh(math.sqrt(0.63 * 0.58) * ratio)
        e, q = 1.0, 1.0 - 0.58 / 0.63 * u * u
    else:
        def slope(_, y):
            u, e = y
            return [ratio * (0.63 - 0.58 * u * u / e) * math.sqrt(e), friction * u * u]

        u, e = solve_ivp(slope, (0.0, 1.0), [0.0, 1.0], method="DOP853", rtol=1e-12, atol=1e-14).y[:, -1]
        q = (0.63 - 0.58 * u * u / e) * math.sqrt(e) / 0.63
    return {"u_inlet": u, "e_inlet_over_e_end": e, "q_inlet_over_q_end": q}[row["quantity"]]


def even_sizing(row):
    """Slot areas that share a flow evenly, marching up from a chosen dead-end pressure."""
    rho, area, n = float(row["rho"]), float(row["duct_w_m"]) * float(row["duct_h_m"]), int(row["n_ports"])
    q, e = float(row["q_total_m3_s"]) / n, float(row["e_dead_end_pa"])
    share = 1.0 if row["velocity"] == "upstream" else 0.5
    for port in range(int(row["port"])):
        if port:
            e += friction_fall(port * q / area, row)
        v = (port + share) * q / area
        size = q / (MODELS[row["model"]](0.5 * rho * v * v / e, 0.0) * math.sqrt(2.0 * e / rho))
    return size


def even_round_trip(row):
    return float(row["q_total_m3_s"]) / int(row["n_ports"])


@functools.cache
def header(items):
    """Return header from the dead end: flow of each opening and header static pressure after it."""
    row = dict(items)
    rho, area = float(row["rho"]), float(row["duct_w_m"]) * float(row["duct_h_m"])
    theta, cd, areas = float(row["theta"]), float(row["cd"]), [float(a) for a in row["areas_m2"].split()]

    def run(p):
        flows, statics, v = [], [], 0.0
        for i, a in enumerate(areas):
            if i:
                p -= friction_fall(v, row)

            def after(q, p=p, v=v):
                return p - theta * 0.5 * rho * ((v + q / area) ** 2 - v * v)

            def wrong(q, p=p, a=a):
                return q - cd * a * math.sqrt(2.0 * -0.5 * (p + after(q)) / rho)

            q = brentq(wrong, 0.0, 10.0, xtol=1e-16, rtol=1e-14)
            p, v = after(q), v + q / area
            flows.append(q)
            statics.append(p)
        return flows, statics

    total = float(row["q_total_m3_s"])
    p = brentq(lambda p: sum(run(p)[0]) - total, -1000.0, -1.0, xtol=1e-12, rtol=1e-14)
    return run(p)


def return_header(row):
    keys = ("rho", "mu", "duct_w_m", "duct_h_m", "theta", "cd", "areas_m2", "spacing_m", "eps_m", "q_total_m3_s")
    flows, statics = header(tuple((key, row[key]) for key in keys))
    return (flows if row["quantity"] == "flow" else statics)[int(row["opening"]) - 1]


def return_element(row):
    """One opening with set header flows, or the fall of total pressure where air joins."""
    rho, area, theta = float(row["rho"]), float(row["header_area_m2"]), float(row["theta"])
    before, after = (0.5 * rho * (float(row[key]) / area) ** 2 for key in ("q_before_m3_s", "q_after_m3_s"))
    if row["quantity"] == "fall":
        return (theta - 1.0) * (after - before)
    static = float(row["header_total_pa"]) - before - 0.5 * theta * (after - before)
    return float(row["cd"]) * float(row["area_m2"]) * math.sqrt(-2.0 * static / rho)


BENCH_KEYS = ("rho", "mu", "duct_w_m", "duct_h_m", "n_ports", "port_area_m2", "q_total_m3_s", "velocity", "model", "spacing_m", "eps_m")


def bench_readings(row):
    """What a slotted length with a closed end reads: root static, end static, flow of the slots named."""
    flows, pressures = march(tuple((key, row[key]) for key in BENCH_KEYS))
    v = float(row["q_total_m3_s"]) / (float(row["duct_w_m"]) * float(row["duct_h_m"]))
    n = int(row["n_ports"])
    slots = [flows[n - int(number)] for number in row["slots"].split()]
    return pressures[-1] - 0.5 * float(row["rho"]) * v * v, pressures[0], slots


def bench_fit(row):
    """What the readings were made with, once they are seen to be those of the march."""
    root, end, slots = bench_readings(row)
    read = [float(row["root_static_pa"]), float(row["end_static_pa"]), *map(float, row["slot_flows_m3_s"].split())]
    if any(abs(a / b - 1.0) > 1e-8 for a, b in zip(read, [root, end, *slots], strict=True)):
        return math.nan
    return float(row["port_area_m2"]) / float(row["nominal_area_m2"]) if row["quantity"] == "coefficient" else 1.0


TOPICS = {
    "bench_fit": bench_fit,
    "slot_coefficient": coefficient,
    "slot_free_streamline": lambda row: free_streamline(float(row["u1"]), float(row["u2"])),
    "slot_single": single_slot,
    "dead_end_march": dead_end_march,
    "continuous_slot": continuous_slot,
    "even_sizing": even_sizing,
    "even_round_trip": even_round_trip,
    "return_header": return_header,
    "return_element": return_element,
}
