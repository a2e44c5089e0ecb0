"""Setting a machine up from a material data sheet: the job around the throttles.

Ratio and its budget, drive pressure and flow, heat, viscosity, filler, gas, stall and leak test,
priming, filling, shot size and the life of the mixer. The formulas are the core's; here they are
put together into answers. All numbers are SI, pressures gauge, temperatures kelvin; streams come
in the order resin, hardener.
"""

from evenfront.setup.budget import BudgetInputs, machine_budget, ratio_budget
from evenfront.setup.drive import plot_stations, pressure
from evenfront.setup.estimate import Estimate
from evenfront.setup.filling import TANK_PRIME, fill, prime
from evenfront.setup.free_gas import gas
from evenfront.setup.leak import Creep, fit_creep, leak_test, plot_creep
from evenfront.setup.metering import Metered, best_bores, ratio
from evenfront.setup.mixer_life import mixer
from evenfront.setup.settling import AGITATOR, Filler, filler
from evenfront.setup.shot_size import shot, start_up_jump
from evenfront.setup.soak import Soak, heat, plot_soak, soak_time, zones
from evenfront.setup.stall import Stall, fit_stall, plot_stall, separate_gas, stall_test
from evenfront.setup.viscosity_finding import ViscosityFinding, plot_viscosity, viscosity
from evenfront.setup.viscosity_fit import ViscosityFit, fit_viscosity
from evenfront.setup.viscosity_law import MODELS, TEMPERATURE_LAWS
from evenfront.setup.viscosity_points import Points

__all__ = [
    "AGITATOR",
    "MODELS",
    "TANK_PRIME",
    "TEMPERATURE_LAWS",
    "BudgetInputs",
    "Creep",
    "Estimate",
    "Filler",
    "Metered",
    "Points",
    "Soak",
    "Stall",
    "ViscosityFinding",
    "ViscosityFit",
    "best_bores",
    "fill",
    "filler",
    "fit_creep",
    "fit_stall",
    "fit_viscosity",
    "gas",
    "heat",
    "leak_test",
    "machine_budget",
    "mixer",
    "plot_creep",
    "plot_soak",
    "plot_stall",
    "plot_stations",
    "plot_viscosity",
    "pressure",
    "prime",
    "ratio",
    "ratio_budget",
    "separate_gas",
    "shot",
    "soak_time",
    "stall_test",
    "start_up_jump",
    "viscosity",
    "zones",
]
