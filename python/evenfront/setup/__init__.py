"""Setting a machine up from a material data sheet: the job around the throttles.

Ratio and its budget, drive pressure and flow, heat, filler, gas, priming, filling, shot size and
the life of the mixer. The formulas are the core's; here they are put together into answers. All
numbers are SI, pressures gauge, temperatures kelvin; streams come in the order resin, hardener.
"""

from evenfront.setup.budget import BudgetInputs, machine_budget, ratio_budget
from evenfront.setup.drive import plot_stations, pressure
from evenfront.setup.filling import TANK_PRIME, fill, prime
from evenfront.setup.free_gas import gas
from evenfront.setup.metering import Metered, best_bores, ratio
from evenfront.setup.mixer_life import mixer
from evenfront.setup.settling import AGITATOR, Filler, filler
from evenfront.setup.shot_size import shot, start_up_jump
from evenfront.setup.soak import Soak, heat, plot_soak, soak_time, zones

__all__ = [
    "AGITATOR",
    "TANK_PRIME",
    "BudgetInputs",
    "Filler",
    "Metered",
    "Soak",
    "best_bores",
    "fill",
    "filler",
    "gas",
    "heat",
    "machine_budget",
    "mixer",
    "plot_soak",
    "plot_stations",
    "pressure",
    "prime",
    "ratio",
    "ratio_budget",
    "shot",
    "soak_time",
    "start_up_jump",
    "zones",
]
