#include "evenfront/settling.hpp"

#include "evenfront/constants.hpp"
#include "functions.hpp"

namespace evenfront::python {

void bind_settling(py::module_& m) {
    const Given diameter{"diameter", "of the particle [m], > 0"};
    const Given excess{"excess_density", "particle less liquid [kg/m^3]"};
    const Given viscosity{"viscosity", "of the liquid without filler [Pa s], > 0"};
    const Given fraction{"fraction", "of filler by volume [-], 0 ... 1"};
    const Given liquid_density{"liquid_density", "without filler [kg/m^3], > 0"};
    const Preset<double> gravity{"gravity", standard_gravity, "[m/s^2], > 0"};

    define(
        m,
        "stokes_velocity",
        &stokes_velocity,
        {"Terminal velocity of a lone sphere in creeping flow.", "velocity [m/s], positive sinks"},
        diameter,
        excess,
        viscosity,
        gravity);
    define(m,
           "terminal_velocity",
           &terminal_velocity,
           {"Terminal velocity of a lone sphere up to a Reynolds number of 1000.",
            "velocity [m/s], positive sinks"},
           diameter,
           excess,
           viscosity,
           liquid_density,
           gravity);
    define(m,
           "filler_fraction",
           &filler_fraction,
           {"Volume fraction of filler of a weight fraction.", "fraction by volume [-]"},
           Given{"weight_fraction", "of filler [-], 0 ... 1"},
           Given{"filler_density", "[kg/m^3], > 0"},
           liquid_density);
    define(m,
           "hindered_settling",
           &hindered_settling,
           {"Velocity of a suspension over that of a lone particle, (1 - phi)^n.", "factor [-]"},
           fraction,
           Preset<double>{"exponent", 4.65, "n [-], > 0; 4.65 in creeping flow"});
    define(m,
           "hindered_by_viscosity",
           &hindered_by_viscosity,
           {"The same from density and viscosity of the mixture.",
            "factor (1 - phi)^2 10^(-1.82 phi) [-]"},
           fraction);
    define(m,
           "filled_viscosity",
           &filled_viscosity,
           {"Viscosity of a filled liquid over that of the liquid.", "factor [-]"},
           fraction,
           Preset<double>{"packing", 0.64, "densest fraction [-], > fraction and at most 1"},
           Preset<double>{"intrinsic", 2.5, "intrinsic viscosity [-], > 0"});
    define(m,
           "holding_yield_stress",
           &holding_yield_stress,
           {"Smallest yield stress that holds a sphere at rest.", "yield stress [Pa]"},
           diameter,
           excess);
    define(m,
           "idle_time",
           &idle_time,
           {"Longest idle until a share of the height has cleared.", "time [s]"},
           Given{"velocity", "of the suspension [m/s], > 0"},
           Given{"height", "tank depth, hose bore or cylinder length [m], > 0"},
           Given{"share", "of the height [-], > 0 and at most 1"});
}

}  // namespace evenfront::python
