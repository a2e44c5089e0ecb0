"""Viscosities as a data sheet or a rheometer gives them."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from evenfront import units as u
from evenfront.setup.tables import read_columns

Floats = NDArray[np.float64]


@dataclass(frozen=True, eq=False)
class Points:
    """Measured viscosities.

    Parameters
    ----------
    viscosity
        Whole apparent viscosity, shear stress over shear rate [Pa s].
    shear_rate
        [1/s]; None: not stated, for a Newtonian liquid.
    temperature
        [K]; None: all at one temperature.
    """

    viscosity: Floats
    shear_rate: Floats | None = None
    temperature: Floats | None = None

    @classmethod
    def of(
        cls,
        viscosity: ArrayLike,
        shear_rate: ArrayLike | None = None,
        temperature: ArrayLike | None = None,
    ) -> Points:
        """Check lists of the same length.

        Raises
        ------
        ValueError
            For lists that differ in length or values that are not above zero.
        """
        columns = {"viscosity": viscosity, "shear rate": shear_rate, "temperature": temperature}
        arrays = {
            name: None if given is None else np.asarray(given, dtype=float)
            for name, given in columns.items()
        }
        size = np.shape(viscosity)
        for name, values in arrays.items():
            if values is None:
                continue
            if values.ndim != 1 or values.shape != size:
                raise ValueError(f"{name} must be a list as long as that of the viscosities")
            if not np.all(np.isfinite(values) & (values > 0)):
                raise ValueError(f"{name} must be above zero at every point")
        first = arrays["viscosity"]
        assert first is not None
        return cls(first, arrays["shear rate"], arrays["temperature"])

    @classmethod
    def read(cls, text: str) -> Points:
        """Points from comma-separated values.

        Parameters
        ----------
        text
            First line ``temperature [degC],shear rate [1/s],viscosity [Pa*s]``; the first two
            columns may be left out.

        Raises
        ------
        ValueError
            With one line for each problem.
        """
        head = text.splitlines()[0] if text.strip() else ""
        kinds = {"viscosity": u.VISCOSITY}
        for name, kind in (("shear rate", u.SHEAR_RATE), ("temperature", u.TEMPERATURE)):
            if name in head:
                kinds[name] = kind
        columns = read_columns(text, kinds)
        return cls.of(columns["viscosity"], columns.get("shear rate"), columns.get("temperature"))
