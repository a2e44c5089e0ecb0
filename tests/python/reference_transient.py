"""The start-up transient written a second time, for scipy to solve.

Own formulation: pressures are the state (the core keeps masses), every law is evaluated in numpy
from its textbook form, and scipy's general-purpose solvers do the rest. One liquid temperature per
stream, linear throttles, no friction, leak or pocket: enough for the demo case.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.integrate import solve_ivp
from scipy.sparse import csc_matrix, lil_matrix

P0 = 101325.0
R_GAS = 8.31446261815324
Array = NDArray[np.float64]


class StreamModel:
    """One stream: geometry, liquid and flow laws as plain arrays."""

    def __init__(self, stream: Any, stroke: float) -> None:
        liquid, rheology, (segment,) = stream.liquid, stream.rheology, stream.line
        assert segment.temperature == stream.cylinder.temperature
        assert stream.throttle.kind.name == "resistance"
        temperature = segment.temperature
        self.a0, self.k = liquid.free_gas, liquid.bulk_modulus
        assert liquid.gas_exponent == 1.0
        self.rho_ref = liquid.density
        self.rho_t = liquid.density * (
            1 - liquid.thermal_expansion * (temperature - liquid.reference_temperature)
        )
        n = segment.cells
        share = np.full(n + 1, 1.0 / n)
        share[[0, -1]] = 0.5 / n
        self.volume = share * math.pi / 4 * segment.bore**2 * segment.length
        self.wall = share * segment.length * segment.wall_expansion
        self.area = math.pi / 4 * stream.cylinder.bore**2
        self.stroke = stroke
        shift = math.exp(
            rheology.activation_energy
            / R_GAS
            * (1 / temperature - 1 / rheology.reference_temperature)
        )
        # Rabinowitsch-Mooney for a power law: q = pi R^3 n/(3n+1) (dp R/(2 L k))^(1/n)
        assert rheology.yield_stress == 0.0
        index = rheology.index
        radius, length = segment.bore / 2, segment.length / n
        consistency = rheology.consistency * shift**index
        self.index = index
        self.coefficient = math.pi * radius**3 * index / (3 * index + 1)
        self.stress = radius / (2 * length * consistency)
        self.throttle = stream.throttle.resistance
        self.shutoff = stream.shutoff

    def expansion(self, p: Array) -> tuple[Array, Array]:
        """Specific volume v(p) and its slope."""
        gas = P0 / (P0 + p)
        v = (1 - self.a0) * np.exp(-p / self.k) + self.a0 * gas
        dv = -(1 - self.a0) / self.k * np.exp(-p / self.k) - self.a0 * gas / (P0 + p)
        return v, dv

    def slopes(self, p: Array, x: float, v_shaft: float, q_out: float) -> Array:
        """dp/dt of every node, for the liquid flow q_out [m^3/s] at the outlet."""
        v, dv = self.expansion(p)
        rho = self.rho_t * (1 - self.a0) / v
        volume = self.volume + self.wall * p
        volume[0] += self.area * (self.stroke - x)
        dp = p[:-1] - p[1:]
        q = np.sign(dp) * self.coefficient * (np.abs(dp) * self.stress) ** (1 / self.index)
        w = np.where(dp >= 0, rho[:-1], rho[1:]) * q
        gain = np.zeros_like(p)
        gain[:-1] -= w
        gain[1:] += w
        gain[-1] -= self.rho_ref * q_out
        gain[0] += rho[0] * self.area * v_shaft
        return gain / (rho * (self.wall - volume * dv / v))

    def conductance(self, p: float, fraction: float) -> float:
        """Liquid flow per pressure from the last node to the mixing point."""
        opened = fraction**self.shutoff.exponent
        v, _ = self.expansion(np.array([p]))
        density = self.rho_t * (1 - self.a0) / float(v[0]) / self.rho_ref
        return density * opened / (self.throttle * opened + self.shutoff.resistance)


@dataclass
class Piece:
    """A stretch of time over which the controls are smooth: [start, end], force and fractions."""

    start: float
    end: float
    force: tuple[float, float, float]  # target, at start, rise time
    fraction: tuple[tuple[float, float], tuple[float, float]]  # at start, rate

    def controls(self, t: float) -> tuple[float, float, float]:
        """Drive force and both opening fractions."""
        target, first, rise = self.force
        decay = math.exp(-(t - self.start) / rise) if rise > 0 else 0.0
        (fr, dr), (fh, dh) = self.fraction
        return (
            target + (first - target) * decay,
            fr + dr * (t - self.start),
            fh + dh * (t - self.start),
        )


class Model:
    """Both streams on one shaft, for a machine of the core."""

    def __init__(self, machine: Any, mixer_resistance: float) -> None:
        self.machine = machine
        self.streams = [
            StreamModel(s, machine.shaft.stroke) for s in (machine.resin, machine.hardener)
        ]
        self.n = [len(s.volume) for s in self.streams]
        self.mixer = mixer_resistance
        self.evaluations = 0

    def rhs(self, t: float, y: Array, piece: Piece) -> Array:
        """y = [x, v, p_resin..., p_hardener..., V_r, V_h]."""
        self.evaluations += 1
        force, *fractions = piece.controls(t)
        x, v = y[0], y[1]
        nr, nh = self.n
        p = [y[2 : 2 + nr], y[2 + nr : 2 + nr + nh]]
        g = [
            s.conductance(float(pi[-1]), f)
            for s, pi, f in zip(self.streams, p, fractions, strict=True)
        ]
        p_m = self.mixer * (g[0] * p[0][-1] + g[1] * p[1][-1]) / (1 + self.mixer * (g[0] + g[1]))
        q = [gi * (pi[-1] - p_m) for gi, pi in zip(g, p, strict=True)]
        shaft = self.machine.shaft
        load = sum(s.area * pi[0] for s, pi in zip(self.streams, p, strict=True))
        parts = [
            np.array([v, (force - load - shaft.viscous_friction * v) / shaft.mass]),
            self.streams[0].slopes(p[0], x, v, q[0]),
            self.streams[1].slopes(p[1], x, v, q[1]),
            np.array(q),
        ]
        return np.concatenate(parts)

    def sparsity(self) -> csc_matrix:
        """Which entries of the Jacobian can differ from zero."""
        nr, nh = self.n
        size = 4 + nr + nh
        pattern = lil_matrix((size, size))
        pattern[0, 1] = 1
        pattern[1, [1, 2, 2 + nr]] = 1
        tails = [1 + nr, 1 + nr + nh]
        for first, count in ((2, nr), (2 + nr, nh)):
            for i in range(first, first + count):
                pattern[i, max(first, i - 1) : min(first + count, i + 2)] = 1
            pattern[first, [0, 1]] = 1
        for row in [*tails, size - 2, size - 1]:
            for tail in tails:
                pattern[row, tail] = 1
        return pattern.tocsc()

    def shot_pieces(self, shot: float, dwell: float, repeat: int) -> list[list[Piece]]:
        """Shots of equal shut-offs from rest: pieces up to the close command, then to the next."""
        drive, shutoff = self.machine.drive, self.machine.resin.shutoff
        other = self.machine.hardener.shutoff
        assert (shutoff.open_time, shutoff.close_time) == (other.open_time, other.close_time)
        assert shutoff.delay == other.delay == shutoff.close_delay == other.close_delay == 0
        t, force, target, rise = 0.0, 0.0, drive.force, drive.rise_time
        parts: list[list[Piece]] = []

        def add(duration: float, goal: float, tau: float, f0: float, f1: float) -> Piece:
            nonlocal t, force
            rate = (f1 - f0) / duration
            piece = Piece(t, t + duration, (goal, force, tau), ((f0, rate), (f0, rate)))
            t += duration
            force = piece.controls(t)[0]
            return piece

        for _ in range(repeat):
            opening = add(shutoff.open_time, target, rise, 0.0, 1.0)
            shooting = add(shot - shutoff.open_time, target, rise, 1.0, 1.0)
            parts.append([opening, shooting])
            closing = add(shutoff.close_time, force, 0.0, 1.0, 0.0)
            parts.append([closing, add(dwell, target, rise, 0.0, 0.0)])
        return parts

    def solve(self, parts: list[list[Piece]], **options: Any) -> list[Array]:
        """States after each part, from rest; options go to scipy's solve_ivp."""
        y = np.zeros(4 + sum(self.n))
        y[0] = self.machine.shaft.position
        states = []
        for part in parts:
            for piece in part:
                solution = solve_ivp(
                    self.rhs, (piece.start, piece.end), y, args=(piece,), **options
                )
                assert solution.success, solution.message
                y = solution.y[:, -1]
            states.append(y)
        return states

    def scales(self, relative: float) -> Array:
        """Absolute tolerances that suit each unknown, for a relative one."""
        pressure = self.machine.drive.force / sum(s.area for s in self.streams)
        volume = [0.01 * s.area * s.stroke for s in self.streams]
        return relative * np.array([1e-3, 1e-3, *[0.1 * pressure] * sum(self.n), *volume])
