#include "evenfront/stiffness.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_stiffness(py::module_& m) {
    const Given liquid{"liquid", "the liquid [-]"};
    const Given leak{"leak", "g past the seal [m^3/(s Pa)], >= 0"};
    const Given pressure{"pressure", "gauge [Pa], >= 0"};
    const Given flow{"flow", "metered by that side's piston [m^3/s], > 0"};

    define(m,
           "elastic_wall_expansion",
           &elastic_wall_expansion,
           {"Volume per pressure and length that a thick elastic tube gives.",
            "wall expansion [m^3/(Pa m)]"},
           Given{"young", "E [Pa], > 0"},
           Given{"poisson", "nu [-], 0 ... 0.5"},
           Given{"bore", "Di [m], > 0"},
           Given{"outside", "Do [m], > Di"});
    define(m,
           "wall_modulus",
           &wall_modulus,
           {"Modulus of a wall, bore area over wall expansion.", "modulus [Pa]"},
           Given{"bore", "[m], > 0"},
           Given{"wall_expansion", "[m^3/(Pa m)], > 0"});
    define(m,
           "stall_volume",
           &stall_volume,
           {"Volume the piston sweeps from p = 0 against closed shut-offs.", "volume [m^3]"},
           liquid,
           pressure,
           Given{"volume", "in cylinder and line at p = 0 [m^3], >= 0"},
           Given{"capacity", "of all walls, wall expansion x length [m^3/Pa], >= 0"},
           Given{"pocket", "free air at p0 [m^3], >= 0"});
    define(m,
           "blocked_in_pressure",
           &blocked_in_pressure,
           {"Pressure rise of liquid shut in between closed valves when warmed.",
            "gauge pressure [Pa]"},
           liquid,
           Given{"start", "temperature at p = 0 [K], > 0"},
           Given{"end", "temperature [K], at least `start`"},
           Given{"wall_softness", "wall expansion over bore area [1/Pa], >= 0"});
    define(m,
           "hardener_leak_error",
           &hardener_leak_error,
           {"Ratio error of a leak on the hardener's side, -g p/Q.", "error of the ratio [-]"},
           leak,
           pressure,
           flow);
    define(
        m,
        "resin_leak_error",
        &resin_leak_error,
        {"Ratio error of a leak on the resin's side, 1/(1 - g p/Q) - 1.", "error of the ratio [-]"},
        leak,
        pressure,
        flow);
    define(m,
           "pressure_for_leak",
           &pressure_for_leak,
           {"Greatest pressure at which a leak stays below a share of the flow.",
            "gauge pressure [Pa]"},
           Given{"leak", "g past the seal [m^3/(s Pa)], > 0"},
           flow,
           Given{"share", "of the flow [-], > 0 and < 1"});
}

}  // namespace evenfront::python
