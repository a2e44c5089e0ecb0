"""Invented viscosities of an invented resin, written with their own recipe in the file's head.

python tests/make_viscosity.py        writes data/viscosity/filled-resin.csv
"""

import math
from pathlib import Path

import numpy as np

FILE = Path(__file__).parents[1] / "data" / "viscosity" / "filled-resin.csv"


def main() -> None:
    """Write a Cross liquid: 60 Pa s and 3 Pa s, 0.4 s, 0.7 at 50 degC, 55 kJ/mol, 2 % noise."""
    rng = np.random.default_rng(20)
    lines = ["temperature [degC],shear rate [1/s],viscosity [Pa*s]"]
    for celsius in (35.0, 50.0, 65.0):
        shift = math.exp(55e3 / 8.31446261815324 * (1 / (celsius + 273.15) - 1 / 323.15))
        for rate in np.geomspace(0.02, 200.0, 13):
            eta = shift * (3.0 + 57.0 / (1.0 + (0.4 * shift * rate) ** 0.7))
            noisy = eta * math.exp(0.02 * rng.standard_normal())
            lines.append(f"{celsius:g},{rate:.4g},{noisy:.4g}")
    FILE.parent.mkdir(exist_ok=True)
    FILE.write_text("\n".join(lines) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main()
