#include "evenfront/drive.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_drive(py::module_& m) {
    bind_result<Station>(
        m,
        "Station",
        "One piece of a stream in steady flow.",
        required("stream", &Station::stream, "resin, hardener, or both for the mixer [-]"),
        required("name", &Station::name, "cylinder, a segment, throttle, shut-off, mixer [-]"),
        required("pressure", &Station::pressure, "gauge, at its upstream end [Pa]"),
        required("loss", &Station::loss, "pressure lost in it [Pa]"),
        required("rating", &Station::rating, "highest pressure allowed [Pa]; infinite: none"));

    const Given machine{"machine", "the machine [-]"};
    define_plain(m,
                 "pressure_stations",
                 &pressure_stations,
                 {"Pressure and loss of every piece in steady flow.",
                  "pieces of resin, hardener, then the mixer; pressures [Pa]; empty: no flow"},
                 machine,
                 Given{"force", "of the drive [N], > 0"});
    define_plain(m,
                 "force_for_flow",
                 &force_for_flow,
                 {"Drive force for a steady flow, the reverse of steady_state.", "force [N]"},
                 machine,
                 Given{"flow", "liquid flow of both streams [m^3/s], > 0"});
    define_plain(m,
                 "force_for_rating",
                 &force_for_rating,
                 {"Drive force at which the first rating is reached in steady flow.",
                  "force [N]; infinite without ratings"},
                 machine);
    define(m,
           "blocked_pressure",
           &blocked_pressure,
           {"Pressure in one cylinder alone whose outlet is blocked, the other being open.",
            "gauge pressure F/A [Pa]"},
           Given{"cylinder", "the blocked one [-]"},
           Given{"force", "of the drive [N], >= 0"});
}

}  // namespace evenfront::python
