#include "evenfront/fill.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_fill(py::module_& m) {
    const Given law{"law", "of the liquid at its temperature [-]"};

    define(m,
           "feed_flow",
           &feed_flow,
           {"Largest flow through a feed line before the cylinder starves.", "flow [m^3/s]"},
           law,
           Given{"tank_pressure", "gauge [Pa], above `lowest`"},
           Given{"bore", "of the feed line [m], > 0"},
           Given{"length", "of the feed line [m], > 0"},
           Preset<double>{"lowest", -0.9e5, "pressure allowed in the cylinder, gauge [Pa]"});
    define(m,
           "retract_speed",
           &retract_speed,
           {"Fastest the piston may be drawn back.", "speed [m/s]"},
           Given{"feed_flow", "through the feed line [m^3/s], >= 0"},
           Given{"cylinder_bore", "[m], > 0"});
    define(m,
           "feed_bore",
           &feed_bore,
           {"Bore of a feed line that carries a flow.", "bore [m]"},
           law,
           Given{"flow", "[m^3/s], > 0"},
           Given{"pressure", "difference over the line [Pa], > 0"},
           Given{"length", "[m], > 0"});
    define(m,
           "change_over_time",
           &change_over_time,
           {"Time until a container has to be changed.", "time [s]"},
           Given{"volume", "of the container [m^3], > 0"},
           Given{"heel", "share that cannot be drawn [-], >= 0 and < 1"},
           Given{"flow", "averaged over work and pauses [m^3/s], > 0"});
}

}  // namespace evenfront::python
