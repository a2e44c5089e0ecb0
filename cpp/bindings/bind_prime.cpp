#include "evenfront/prime.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_prime(py::module_& m) {
    const Given law{"law", "of the liquid at its temperature [-]"};
    const Given pressure{"pressure", "at the hose's inlet, gauge [Pa], > 0"};
    const Given bore{"bore", "of the hose [m], > 0"};
    const Preset<double> index{"index", 1.0, "n of the power law [-], 0.1 ... 1"};

    define(m,
           "prime_time",
           &prime_time,
           {"Time to fill an empty hose at constant pressure.",
            "time [s]",
            ">>> round(prime_time(ShearLaw(consistency=10.0), 2e6, 0.01, 2.0), 6)\n3.2"},
           law,
           pressure,
           bore,
           Given{"length", "of the hose [m], > 0"});
    define(m,
           "prime_reach",
           &prime_reach,
           {"Longest hose a pressure can fill against the yield stress.",
            "length [m]; infinite without yield stress"},
           law,
           pressure,
           bore);
    define(m,
           "film_left",
           &film_left,
           {"Share of the bore that stays on the wall when gas pushes the liquid out.",
            "share [-], at most 0.64"},
           Given{"capillary", "viscosity x velocity/surface tension [-], >= 0"});
    define(
        m,
        "laminar_washout",
        &laminar_washout,
        {"Share of a step that has come through a hose, laminar without diffusion.", "share [-]"},
        Given{"volumes", "passed over held [-], >= 0"},
        index);
    define(m,
           "purge_volumes",
           &purge_volumes,
           {"Volumes of a hose to pass until a share of what comes out is new.", "volumes [-]"},
           Given{"share", "new [-], 0 ... 0.9999"},
           index);
}

}  // namespace evenfront::python
