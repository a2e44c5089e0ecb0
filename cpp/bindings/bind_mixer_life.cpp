#include "evenfront/mixer_life.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_mixer_life(py::module_& m) {
    const Given hold_up{"hold_up", "liquid the mixer holds [m^3], > 0"};

    define(m,
           "residence_in_flow",
           &residence_in_flow,
           {"Mean residence time in steady flow.", "time [s]"},
           hold_up,
           Given{"flow", "of both streams [m^3/s], > 0"});
    define(
        m,
        "age_at_exit",
        &age_at_exit,
        {"Age of the oldest blend that leaves as shots follow one another, plug flow.", "age [s]"},
        hold_up,
        Given{"shot", "of both streams [m^3], > 0"},
        Given{"flow", "while dispensing [m^3/s], > 0"},
        Given{"dwell", "between shots [s], >= 0"});
    define(m,
           "longest_pause",
           &longest_pause,
           {"Longest pause after which the mixer's content may still be used.", "time [s]"},
           Given{"working_life", "of the blend [s], > 0"},
           Given{"share", "of it that may pass [-], > 0 and at most 1"},
           Given{"age", "at exit in production [s], >= 0"});
    define(m,
           "aged_viscosity",
           &aged_viscosity,
           {"Viscosity over that of fresh blend, 2^(age/doubling_time).", "factor [-]"},
           Given{"age", "[s], >= 0"},
           Given{"doubling_time", "[s], > 0"});
}

}  // namespace evenfront::python
