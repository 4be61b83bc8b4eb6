"""Nodal equations with every ideal voltage element eliminated.

At one frequency the board is

    Y v + B j = i      currents out of the nodes: admittances and free currents j
    C v = e            what ideal voltage elements say about the node voltages

No current is ever an unknown. With N and K such that v = K e + N u solves the
second line for any u, and P such that P B = 0, what is left is P Y N u = P (i - Y K e).
One transposed solve gives t and q such that an output is t.i + q.e for any sources.
Exact shorts merge nodes; amplifiers enter as the value of their transfer function.
The arithmetic is mpmath's mp (40 digits) or fp (double), by `ctx`.
"""
from collections import defaultdict

import numpy as np
from mpmath import fp

import elements
from capsule import Capsule, convert
from quantities import BOLTZMANN


class Network:
    """A board at one set of rotations ({designator: 0..1}), ready to be solved at any frequency."""

    def __init__(self, board, rotations, ctx):
        self.ctx, self.board = ctx, board
        self.parts = {}
        for ref, part in board.parts.items():
            rotation = rotations.get(ref, part.get("position", 0.5))
            self.parts.update(elements.split(ref, part, rotation))
        self.merged = merge_shorts(self.parts.values(), board.ground)
        self.parts = {ref: convert(part, ctx) for ref, part in self.parts.items()}
        self.models = convert(board.models, ctx)
        self.capsule = Capsule(board.capsule, ctx) if board.capsule else None
        self.four_kt = ctx.mpf(4 * BOLTZMANN * board.temperature)
        self.input, self.output = convert(board.input, ctx), convert(board.output, ctx)

    def solve(self, f, source="capsule", watch="output"):
        """Transfer of the source's EMF to the watched port, and [(part, mechanism, V^2/Hz there)].

        source: "capsule"; "short" (its impedance set to zero); "probe" (1 kohm, noiseless).
        """
        eq = Equations(self, self.ctx.mpf(f))
        for ref, part in self.parts.items():
            elements.STAMP[part["kind"]](eq, ref, part)
        elements.output_load(eq, self.output)
        emf = elements.source(eq, self.capsule, source)
        port = self.output if watch == "output" else self.input
        t, q = eq.reciprocal_solution(port["plus"], port["minus"])
        gain = eq.transfer(emf, t, q)
        powers = defaultdict(int)
        for part, mechanism, density, injection in eq.noise:
            powers[part.split(":")[0], mechanism] += density * abs(eq.transfer(injection, t, q)) ** 2
        return gain, powers


class Equations:
    """What the elements write into: admittances, constraints, noise. Node names; ground is dropped."""

    def __init__(self, network, f):
        self.ctx, self.network, self.f = network.ctx, network, f
        self.s = network.ctx.mpc(0, 2 * network.ctx.pi * f)
        self.four_kt, self.index = network.four_kt, {}
        self.entries, self.rows, self.columns, self.noise = defaultdict(int), [], [], []
        self.ground = network.board.ground

    def node(self, name):
        """Index of a node, -1 for ground: every array has a last place for it that is cut off."""
        name = self.network.merged.get(name, name)
        return -1 if name == self.ground else self.index.setdefault(name, len(self.index))

    def controlled_current(self, p, n, control, y):
        """Current y * sum(control[node] v(node)) leaves node p and enters node n."""
        for name, weight in control.items():
            self.entries[self.node(p), self.node(name)] += y * weight
            self.entries[self.node(n), self.node(name)] -= y * weight

    def admittance(self, a, b, y):
        """Two-terminal admittance; nothing where both ends are one node."""
        if self.node(a) != self.node(b):
            self.controlled_current(a, b, {a: 1, b: -1}, y)

    def constrain(self, row, column):
        """sum(row v) = e; the free current that makes it so leaves the nodes by `column`. Gives e's key."""
        self.rows.append(row)
        self.columns.append(column)
        return len(self.rows) - 1

    def add_noise(self, part, mechanism, density, injection):
        """density in V^2/Hz or A^2/Hz; injection as in `transfer`."""
        if density:
            self.noise.append((part, mechanism, density, injection))

    def reciprocal_solution(self, plus, minus):
        """t over nodes and q over constraints: v(plus) - v(minus) = t.i + q.e."""
        for name in [name for row in self.rows + self.columns for name in row] + [plus, minus]:
            self.node(name)
        n = len(self.index) + 1
        Y = self.zeros((n, n))
        for place, y in self.entries.items():
            Y[place] += y
        Y, C, B = Y[:-1, :-1], self.matrix(self.rows, n), self.matrix(self.columns, n)
        w = self.matrix([{plus: 1}], n)[0] - self.matrix([{minus: 1}], n)[0]
        K, N = complement(C)
        P = complement(B)[1].T
        t = P.T @ eliminate((P @ Y @ N).T, N.T @ w)
        return t, K.T @ (w - Y.T @ t)

    def transfer(self, injection, t, q):
        """Output for the sources {node name: current into it, constraint key: its e}."""
        ends = {key: t[self.node(key)] if self.node(key) >= 0 else 0 for key in injection if isinstance(key, str)}
        return sum(amount * (ends[key] if key in ends else q[key]) for key, amount in injection.items())

    def zeros(self, shape):
        return np.zeros(shape, dtype=complex if self.ctx is fp else object)

    def matrix(self, rows, n):
        """Rows of {node: weight} as a matrix over the nodes, ground cut off."""
        A = self.zeros((len(rows), n))
        for i, row in enumerate(rows):
            for name, weight in row.items():
                A[i, self.node(name)] += weight
        return A[:, :-1]


def merge_shorts(parts, ground):
    """{node: the node that stands for it}, ground standing for all that is shorted to it."""
    merged = {}
    for part in parts:
        if not elements.is_short(part):
            continue
        a, b = (merged.get(pin, pin) for pin in part["pins"])
        keep, drop = (b, a) if b == ground else (a, b)
        merged.update({name: keep for name, root in merged.items() if root == drop})
        merged[drop] = keep
    return merged


def complement(C):
    """K, N with C (K e + N u) = e for every e and u, by Gauss-Jordan elimination."""
    m, n = C.shape
    A = np.hstack([C, np.eye(m, dtype=C.dtype)])
    pivots = []
    for k in range(m):
        j = int(np.argmax(np.abs(A[k, :n])))
        if abs(A[k, j]) < 1e-30 or j in pivots:
            raise ArithmeticError("ideal voltage elements contradict or repeat each other")
        A[k] = A[k] / A[k, j]
        for i in range(m):
            if i != k and A[i, j] != 0:
                A[i] = A[i] - A[i, j] * A[k]
        pivots.append(j)
    free = [j for j in range(n) if j not in pivots]
    K, N = np.zeros((n, m), C.dtype), np.zeros((n, n - m), C.dtype)
    K[pivots], N[pivots] = A[:, n:], -A[:, free]
    N[free, range(n - m)] = 1
    return K, N


def eliminate(A, b):
    """x of A x = b, by Gaussian elimination with row scaling and pivoting."""
    n = len(b)
    if n == 0 or A.dtype == complex:
        return np.linalg.solve(A, b) if n else b
    A = np.hstack([A, b.reshape(n, 1)])
    scale = np.max(np.abs(A[:, :n]), axis=1)
    if not np.all(scale > 0):
        raise ArithmeticError("no unique solution: a node is joined to nothing")
    A = A / scale.reshape(n, 1)
    for k in range(n):
        i = k + int(np.argmax(np.abs(A[k:, k])))
        if abs(A[i, k]) < 1e-30:
            raise ArithmeticError("no unique solution")
        A[[k, i]] = A[[i, k]]
        for i in range(k + 1, n):
            if A[i, k] != 0:
                A[i, k:] = A[i, k:] - A[k, k:] * (A[i, k] / A[k, k])
    x = np.zeros(n, dtype=object)
    for k in reversed(range(n)):
        x[k] = (A[k, n] - A[k, k + 1:n] @ x[k + 1:]) / A[k, k]
    return x
