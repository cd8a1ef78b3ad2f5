"""Numbers that carry their own exact derivatives, so that physics is written once and its Jacobian cannot disagree with it."""

from __future__ import annotations

import math
from typing import Union

import numpy as np
from numpy.typing import NDArray

Vector = NDArray[np.float64]
Number = Union["Dual", float]


class Dual:
    """A value and its gradient, shape (n,), with respect to a state of n numbers (forward-mode differentiation)."""

    __slots__ = ("grad", "value")

    def __init__(self, value: float, grad: Vector) -> None:
        self.value = value
        self.grad = grad

    def __add__(self, other: Number) -> Dual:
        if isinstance(other, Dual):
            return Dual(self.value + other.value, self.grad + other.grad)
        return Dual(self.value + other, self.grad)

    __radd__ = __add__

    def __neg__(self) -> Dual:
        return Dual(-self.value, -self.grad)

    def __sub__(self, other: Number) -> Dual:
        if isinstance(other, Dual):
            return Dual(self.value - other.value, self.grad - other.grad)
        return Dual(self.value - other, self.grad)

    def __rsub__(self, other: float) -> Dual:
        return Dual(other - self.value, -self.grad)

    def __mul__(self, other: Number) -> Dual:
        if isinstance(other, Dual):
            return Dual(self.value * other.value, self.value * other.grad + other.value * self.grad)
        return Dual(self.value * other, self.grad * other)

    __rmul__ = __mul__

    def __truediv__(self, other: Number) -> Dual:
        if isinstance(other, Dual):
            ratio = self.value / other.value
            return Dual(ratio, (self.grad - ratio * other.grad) / other.value)
        return Dual(self.value / other, self.grad / other)

    def __rtruediv__(self, other: float) -> Dual:
        ratio = other / self.value
        return Dual(ratio, -ratio / self.value * self.grad)


def exp(x: Dual) -> Dual:
    """e to the x."""
    value = math.exp(x.value)
    return Dual(value, value * x.grad)


def log(x: Dual) -> Dual:
    """Natural logarithm; x above 0."""
    return Dual(math.log(x.value), x.grad / x.value)


def sigmoid(x: Dual) -> Dual:
    """1 / (1 + e^-x)."""
    value = 1.0 / (1.0 + math.exp(-x.value))
    return Dual(value, value * (1.0 - value) * x.grad)


def power(base: Dual, exponent: Number) -> Dual:
    """base ** exponent, base above 0."""
    return exp(log(base) * exponent)
