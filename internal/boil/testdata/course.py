# The boil in time by SciPy's integrators, from the same published relations, written
# anew: water activity (starzak1997), saturation pressure (iapws-if97, region 4),
# heat capacity (bubnik1995), heat of evaporation (steam tables and starzak1997).
#
#   warming:  C(T) dT/dt = P - Q(T)
#   boiling:  dm/dt = -(P - Q) / (L + C |dT/dm|),  T on the boiling curve
#   riding:   C_s dT/dt = hA (T_p - T) - Q(T),  C_p dT_p/dt = -hA (T_p - T)
#
# Writes course.csv: python3 course.py >course.csv
# With --time it prints how long the warming and the boil of 10 kg take it, the best of
# seven, in milliseconds, by relative tolerance.
import sys
import time
import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

MW, MS, MDE, R = 18.015, 342.30, 18016.0, 8.314462618
N = [0.11670521452767e4, -0.72421316703206e6, -0.17073846940092e2, 0.12020824702470e5, -0.32325550322333e7,
     0.14915108613530e2, -0.48232657361591e4, 0.40511340542057e6, -0.23855557567849, 0.65017534844798e3]


def psat(k):
    th = k + N[8] / (k - N[9])
    a = th * th + N[0] * th + N[1]
    b = N[2] * th * th + N[3] * th + N[4]
    c = N[5] * th * th + N[6] * th + N[7]
    return (2 * c / (-b + np.sqrt(b * b - 4 * a * c))) ** 4 * 1e6


class Boil:
    """One charge in one pan, of sugar, 42 DE syrup and water."""

    def __init__(self, finished, burner, efficiency):
        dry = finished * (1 - 0.0325)
        sugar, syrup = 0.6 * dry, 0.4 * dry / 0.803
        sucrose, solids = sugar * 0.9998, syrup * 0.803
        self.s = sucrose + solids                   # kg of dry matter
        self.share = solids / self.s
        self.water = sugar / 3 + (sugar - sucrose) + (syrup - solids)
        self.end = self.s * 0.0325 / (1 - 0.0325)
        self.power = burner * efficiency
        self.radius = (25 / 1000 / np.pi) ** (1 / 3)
        self.area = 2 * np.pi * self.radius ** 2
        self.pan = 9 * 385.0                        # J/K of 9 kg of copper
        m = 1 / MS * (1 - self.share) + self.share * 42 / MDE
        self.syrup = MW * 1.55 * (1 / MS - m)
        self.air, self.pressure = 20.0, 101325.0

    def lnaw(self, m, k):
        w = m / (m + self.s)
        sug, wet = (1 - w) / MS, w / MW
        x = sug / (sug + wet)
        v = (1 - w) / 1.55
        return np.log(wet / (sug + wet)) + v / (v + w) * self.syrup - 17638 / R / k * x * x * (1 - 1.0038 * x - 0.24653 * x * x)

    def boils(self, m):
        f = lambda k: self.lnaw(m, k) + np.log(psat(k)) - np.log(self.pressure)
        return brentq(f, 373.0, 520.0, xtol=1e-12, rtol=1e-14) - 273.15

    def cp(self, m, t):
        w = self.s / (m + self.s)
        return 1e3 * (4.19 * (1 - w) + w * (1.83 + 0.0055 * (t - 20)))

    def latent(self, m, t):
        sug, wet = self.s / MS, m / MW
        x = sug / (sug + wet)
        return 1e3 * (2501.07 - 2.39043 * t + 8.8214e-4 * t * t - 1.44494e-5 * t ** 3 + 17638 / MW * x * x * (1 - 1.0038 * x - 0.24653 * x * x))

    def heat(self, m, t):
        return (m + self.s) * self.cp(m, t)

    def loss(self, t):
        return 15 * self.area * max(t - self.air, 0)

    def slope(self, m):
        d = 1e-5 * m
        return (self.boils(m + d) - self.boils(m - d)) / (2 * d)

    def boil_alone(self, rtol):
        """Time of flame by warming and boiling alone, to a relative tolerance."""
        tb = self.boils(self.water)
        reach = lambda _, y: y[0] - tb
        reach.terminal = True
        warm = lambda _, y: [(self.power - self.loss(y[0])) / (self.heat(self.water, y[0]) + self.pan)]
        s = solve_ivp(warm, (0, 1e5), [self.air], method="RK45", rtol=rtol, atol=rtol, events=reach)

        def boil(_, y):
            m = max(y[0], self.end / 2)  # a trial step may go past the end
            t = self.boils(m)
            return [-(self.power - self.loss(t)) / (self.latent(m, t) - (self.heat(m, t) + self.pan) * self.slope(m))]

        done = lambda _, y: y[0] - self.end
        done.terminal = True
        r = solve_ivp(boil, (0, 1e5), [self.water], method="RK45", rtol=rtol, atol=rtol, events=done)
        return s.t_events[0][0] + r.t_events[0][0]

    def run(self):
        out = {}
        tb = self.boils(self.water)
        warm = lambda _, y: [(self.power - self.loss(y[0])) / (self.heat(self.water, y[0]) + self.pan)]
        reach = lambda _, y: y[0] - tb
        reach.terminal = True
        s = solve_ivp(warm, (0, 1e5), [self.air], method="RK45", rtol=1e-10, atol=1e-9, events=reach)
        out["boils"] = s.t_events[0][0]

        def boil(_, y):
            t = self.boils(y[0])
            return [-(self.power - self.loss(t)) / (self.latent(y[0], t) - (self.heat(y[0], t) + self.pan) * self.slope(y[0]))]

        events = []
        for c in (110, 120, 130, 140):
            e = lambda _, y, c=c: self.boils(y[0]) - c
            events.append(e)
        done = lambda _, y: y[0] - self.end
        done.terminal = True
        s = solve_ivp(boil, (0, 1e5), [self.water], method="RK45", rtol=1e-9, atol=1e-10, events=events + [done])
        for c, e in zip((110, 120, 130, 140), s.t_events):
            out["at_%d" % c] = out["boils"] + e[0]
        out["end"] = out["boils"] + s.t_events[-1][0]
        out["end_c"] = self.boils(self.end)

        # The ride: the wall stands q/hA above the sugar; the sugar follows the
        # boiling curve down in water as it rises.
        litres = self.volume(self.end, out["end_c"])
        depth = litres / 1000 / (np.pi * self.radius ** 2)
        wet = np.pi * self.radius ** 2 + 2 * np.pi * self.radius * depth
        ha = 950.0 * wet
        hot = self.pan * wet / (3 * np.pi * self.radius ** 2)

        def ride(_, y):
            t = self.boils(y[0])
            eff = self.latent(y[0], t) / -self.slope(y[0]) + self.heat(y[0], t) + self.pan - hot
            net = ha * (y[1] - t) - self.loss(t)
            dt = net / eff
            return [dt / self.slope(y[0]), -ha * (y[1] - t) / hot]

        turn = lambda _, y: self.loss(self.boils(y[0])) - ha * (y[1] - self.boils(y[0]))
        turn.terminal = True
        # It goes off as early as it must to settle at the end.
        def settles(c):
            m = brentq(lambda m: self.boils(m) - c, self.end, 3 * self.end, xtol=1e-13)
            r = solve_ivp(ride, (0, 600), [m, c + self.power / ha], method="LSODA", rtol=1e-10, atol=1e-11, events=turn)
            return self.boils(r.y_events[0][0][0]), r.t_events[0][0]
        off = brentq(lambda c: settles(c)[0] - out["end_c"], out["end_c"] - 8, out["end_c"] - 0.01, xtol=1e-7)
        out["after_k"] = out["end_c"] - off
        out["after_s"] = settles(off)[1]
        return out

    def volume(self, m, t):
        w = self.s / (m + self.s)
        rho = RHO(t)
        v = (1 - w) / rho + w * (0.61626 + 0.00661 * w + 0.02094 * w * w) * (1 + 5.0e-4 * (t - 20))
        return v * (m + self.s)


def RHO(t):
    # Kell 1975, kg/L.
    return (999.83952 + 16.945176 * t - 7.9870401e-3 * t ** 2 - 46.170461e-6 * t ** 3 + 105.56302e-9 * t ** 4 - 280.54253e-12 * t ** 5) / (1 + 16.879850e-3 * t) / 1000


if "--time" in sys.argv:
    b = Boil(10, 15e3, 0.45)
    for rtol in (1e-3, 1e-6):
        best, end = 1e9, 0.0
        for _ in range(7):
            t0 = time.perf_counter()
            end = b.boil_alone(rtol)
            best = min(best, time.perf_counter() - t0)
        print("%g %.4f %.4f" % (rtol, 1e3 * best, end))
    sys.exit()

print("# By course.py, SciPy %s: RK45 and LSODA at relative 1e-9 and 1e-10. Seconds, kelvins, °C." % scipy.__version__)
print("finished_kg,burner_kw,efficiency,quantity,value")
for finished, burner, efficiency in ((5, 8, 0.30), (10, 15, 0.45), (20, 25, 0.45)):
    for name, v in Boil(finished, burner * 1e3, efficiency).run().items():
        print("%g,%g,%g,%s,%.6g" % (finished, burner, efficiency, name, v))
