"""Figures as readers see them."""

import pytest

from copperplate.text import significant


@pytest.mark.parametrize(
    ("value", "shown"),
    [
        (178.2, "178"), (5.154, "5.15"), (0.04249, "0.0425"), (12.0, "12"), (9.999, "10"), (0.0, "0"),
        (-1.5, "-1.5"), (12345.6, "12300"), (1e-7, "0.0000001"), (99.96, "100"), (float("inf"), "inf"),
    ],
)  # fmt: skip
def test_three_significant_digits(value: float, shown: str) -> None:
    assert significant(value) == shown
