#include "evenfront/shot.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_shot(py::module_& m) {
    const Given encoder{"encoder", "counts as the controller counts them [1/m], > 0"};
    const Given resin_bore{"resin_bore", "of the resin's cylinder [m], > 0"};
    const Given hardener_bore{"hardener_bore", "of the hardener's cylinder [m], > 0"};

    define(m,
           "travel_of_counts",
           &travel_of_counts,
           {"Shaft travel of a number of encoder counts.",
            "travel [m]",
            ">>> round(travel_of_counts(1200, 1200/0.0254), 6)\n0.0254"},
           Given{"counts", "[-]"},
           encoder);
    define(m,
           "counts_of_travel",
           &counts_of_travel,
           {"Encoder counts of a travel, not rounded.", "counts [-]"},
           Given{"travel", "[m]"},
           encoder);
    define(m,
           "swept_by_travel",
           &swept_by_travel,
           {"Actual volume both pistons sweep.", "volume [m^3]"},
           Given{"travel", "[m]"},
           resin_bore,
           hardener_bore);
    define(m,
           "travel_of_volume",
           &travel_of_volume,
           {"Travel that sweeps a volume of both streams.", "travel [m]"},
           Given{"volume", "of both streams [m^3]"},
           resin_bore,
           hardener_bore);
    define(m,
           "shots_per_stroke",
           &shots_per_stroke,
           {"Whole shots in what is left of a stroke.", "shots [-]"},
           Given{"left", "of the stroke [m], >= 0"},
           Given{"travel", "per shot [m], > 0"});
    define(m,
           "least_shot",
           &least_shot,
           {"Least resin volume whose hardener is within tolerance, error/(tolerance ratio).",
            "resin volume [m^3]"},
           Given{"hardener_error", "all that does not grow with the shot [m^3], >= 0"},
           Given{"tolerance", "of the ratio, of itself [-], > 0"},
           Given{"ratio", "hardener per resin by liquid volume [-], > 0"});
    define(m,
           "drop_volume",
           &drop_volume,
           {"Volume of a drop that falls from a round tip, within a quarter.", "volume [m^3]"},
           Given{"tip_bore", "diameter wetted [m], > 0"},
           Given{"surface_tension", "[N/m], > 0"},
           Given{"density", "[kg/m^3], > 0"});
}

}  // namespace evenfront::python
