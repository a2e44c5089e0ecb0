#include "evenfront/shot.hpp"

#include <cmath>
#include <numbers>

#include "evenfront/constants.hpp"
#include "evenfront/errors.hpp"

namespace evenfront {

using std::numbers::pi;

namespace {

double both_areas(const char* where, double resin_bore, double hardener_bore) {
    require_positive(where, "resin_bore", resin_bore, "m");
    require_positive(where, "hardener_bore", hardener_bore, "m");
    return pi / 4.0 * (resin_bore * resin_bore + hardener_bore * hardener_bore);
}

}  // namespace

double travel_of_counts(double counts, double encoder) {
    require_positive("travel_of_counts", "encoder", encoder, "1/m");
    return counts / encoder;
}

double counts_of_travel(double travel, double encoder) {
    require_positive("counts_of_travel", "encoder", encoder, "1/m");
    return travel * encoder;
}

double swept_by_travel(double travel, double resin_bore, double hardener_bore) {
    return travel * both_areas("swept_by_travel", resin_bore, hardener_bore);
}

double travel_of_volume(double volume, double resin_bore, double hardener_bore) {
    return volume / both_areas("travel_of_volume", resin_bore, hardener_bore);
}

double shots_per_stroke(double left, double travel) {
    require_not_negative("shots_per_stroke", "left", left, "m");
    require_positive("shots_per_stroke", "travel", travel, "m");
    return std::floor(left / travel * (1.0 + 1e-9));
}

double least_shot(double hardener_error, double tolerance, double ratio) {
    require_not_negative("least_shot", "hardener_error", hardener_error, "m^3");
    require_positive("least_shot", "tolerance", tolerance, "");
    require_positive("least_shot", "ratio", ratio, "");
    return hardener_error / (tolerance * ratio);
}

double drop_volume(double tip_bore, double surface_tension, double density) {
    require_positive("drop_volume", "tip_bore", tip_bore, "m");
    require_positive("drop_volume", "surface_tension", surface_tension, "N/m");
    require_positive("drop_volume", "density", density, "kg/m^3");
    constexpr double share_that_falls = 0.6;
    return pi * tip_bore * surface_tension * share_that_falls / (density * standard_gravity);
}

}  // namespace evenfront
