# A slab of 40 cells of candy on 8 of steel, for 900 s, by SciPy's integrators, on the same
# mesh and written anew: temperatures as the state, the heat capacity in closed form.
#
#   rho c(T_i) dx dT_i/dt = q_{i-1/2} - q_{i+1/2}
#
# Prints, by method: absolute tolerance in kelvins, milliseconds (the best of fifteen), mean of
# the candy by its enthalpy, and its middle.
import time
import numpy as np
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

PLATE, CANDY = 8, 40
DP, DC = 0.010 / PLATE, 0.020 / CANDY


def enthalpy(t):
    return 1355 * t + 0.9 * t ** 2 + 225 * (t + 8 * np.log(2 * np.cosh((t - 50) / 8)))


g = np.empty(PLATE + CANDY + 1)
g[0] = 1 / (DP / 2 / 50 + 1 / 800)
g[1:PLATE] = 50 / DP
g[PLATE] = 1 / (DP / 2 / 50 + 1 / 500 + DC / 2 / 0.30)
g[PLATE + 1:-1] = 0.30 / DC
g[-1] = 1 / (DC / 2 / 0.30 + 1 / 15)
mass = np.r_[np.full(PLATE, 7850 * DP * 470), np.full(CANDY, 1480 * DC)]


def rates(_, t):
    q = np.empty(PLATE + CANDY + 1)
    q[0] = g[0] * (18 - t[0])
    q[1:-1] = g[1:-1] * (t[:-1] - t[1:])
    q[-1] = g[-1] * (t[-1] - 24)
    c = mass.copy()
    candy = t[PLATE:]
    c[PLATE:] *= 1400 + 1.8 * (candy - 25) + 225 * (1 + np.tanh((candy - 50) / 8))
    return (q[:-1] - q[1:]) / c


first = np.r_[np.full(PLATE, 18.0), np.full(CANDY, 140.0)]
n = PLATE + CANDY
near = np.eye(n) + np.eye(n, k=1) + np.eye(n, k=-1)
for method, atol, options in (("BDF", 0.02, {"jac_sparsity": near}), ("LSODA", 0.02, {"lband": 1, "uband": 1}), ("LSODA", 1e-8, {"lband": 1, "uband": 1})):
    best = 1e9
    for _ in range(15):
        t0 = time.perf_counter()
        s = solve_ivp(rates, (0, 900), first, method=method, rtol=1e-9 if atol < 1e-3 else 1e-6, atol=atol, t_eval=[900], **options)
        best = min(best, time.perf_counter() - t0)
    t = s.y[PLATE:, -1]
    mean = brentq(lambda x: enthalpy(x) - enthalpy(t).mean(), 0, 200, xtol=1e-10)
    print("%s %g %.4f %.5f %.5f" % (method, atol, 1e3 * best, mean, (t[CANDY // 2 - 1] + t[CANDY // 2]) / 2))
