#include "evenfront/mixer_life.hpp"

#include <algorithm>
#include <cmath>

#include "evenfront/errors.hpp"

namespace evenfront {

double residence_in_flow(double hold_up, double flow) {
    require_positive("residence_in_flow", "hold_up", hold_up, "m^3");
    require_positive("residence_in_flow", "flow", flow, "m^3/s");
    return hold_up / flow;
}

double age_at_exit(double hold_up, double shot, double flow, double dwell) {
    require_positive("age_at_exit", "shot", shot, "m^3");
    require_not_negative("age_at_exit", "dwell", dwell, "s");
    // Round-off of a shot that is a whole part of the hold-up costs no dwell.
    const double dwells = std::ceil(hold_up / shot * (1.0 - 1e-9));
    return residence_in_flow(hold_up, flow) + dwells * dwell;
}

double longest_pause(double working_life, double share, double age) {
    require_positive("longest_pause", "working_life", working_life, "s");
    require(share > 0 && share <= 1, "longest_pause", "share", share, "", "> 0 and at most 1");
    require_not_negative("longest_pause", "age", age, "s");
    return std::max(0.0, share * working_life - age);
}

double aged_viscosity(double age, double doubling_time) {
    require_not_negative("aged_viscosity", "age", age, "s");
    require_positive("aged_viscosity", "doubling_time", doubling_time, "s");
    return std::exp2(age / doubling_time);
}

}  // namespace evenfront
