"""Dense linear algebra, written plainly."""

from __future__ import annotations


def inverse(matrix: list[list[float]]) -> list[list[float]] | None:
    """The inverse by Gauss-Jordan elimination with partial pivoting; None where the matrix is singular. Cubic: for
    matrices of some dozens of rows."""
    size = len(matrix)
    rows = [list(row) + [float(i == j) for j in range(size)] for i, row in enumerate(matrix)]
    for column in range(size):
        pivot = max(range(column, size), key=lambda i: abs(rows[i][column]))
        if abs(rows[pivot][column]) < 1e-12:
            return None
        rows[column], rows[pivot] = rows[pivot], rows[column]
        scale = rows[column][column]
        rows[column] = [value / scale for value in rows[column]]
        lead = rows[column]
        for i in range(size):
            factor = rows[i][column]
            if i != column and factor != 0.0:
                rows[i] = [value - factor * other for value, other in zip(rows[i], lead, strict=True)]
    return [row[size:] for row in rows]
