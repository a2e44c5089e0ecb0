#include "evenfront/gas.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_gas(py::module_& m) {
    const Given liquid{"liquid", "the liquid [-]"};
    const Given vacuum{"vacuum_abs", "absolute pressure [Pa], > 0 and at most 101325"};

    define(m,
           "compression",
           &compression,
           {"Share of a volume that gives way from one pressure to another, 1 - v(end)/v(start).",
            "share [-]; times a cylinder's length it is the lost motion"},
           liquid,
           Given{"start", "gauge [Pa], > -p0"},
           Given{"end", "gauge [Pa], > -p0"});
    define(m,
           "refill_ratio_error",
           &refill_ratio_error,
           {"Ratio error of a whole refill against the steady ratio.", "error of the ratio [-]"},
           Given{"resin_compression", "from tank to working pressure [-], below 1"},
           Given{"hardener_compression", "from tank to working pressure [-], below 1"});
    define(m,
           "free_gas_of_modulus",
           &free_gas_of_modulus,
           {"Free gas at p0 of a liquid whose tangent bulk modulus was measured.",
            "free gas fraction [-]"},
           Given{"bulk_modulus", "K of the gas-free liquid [Pa], > 0"},
           Given{"tangent_modulus", "measured, without the walls' share [Pa], > 0 and at most K"},
           Given{"pressure", "gauge [Pa], > -p0"},
           Preset<double>{"gas_exponent", 1.0, "n_g, polytropic [-], 1 ... 2"});
    define(m,
           "gas_share",
           &gas_share,
           {"Fraction of the volume that is gas at a pressure.", "fraction [-]"},
           liquid,
           Given{"pressure", "gauge [Pa], > -p0"});
    define(m,
           "gas_left",
           &gas_left,
           {"Free gas at p0 that vacuum leaves.", "free gas fraction [-]"},
           Given{"share", "of the volume that is gas under vacuum [-], >= 0 and < 1"},
           vacuum);
    define(m,
           "vacuum_for_gas",
           &vacuum_for_gas,
           {"Absolute pressure that leaves a wanted free gas, at most 101325 Pa.",
            "absolute pressure [Pa]"},
           Given{"free_gas", "wanted, at p0 [-], > 0 and < 1"},
           Given{"share", "of the volume still gas under vacuum [-], > 0 and < 1"});
    define(m,
           "foam_fill",
           &foam_fill,
           {"Largest share of a tank to fill before vacuum so that the foam stays inside.",
            "share [-]"},
           Given{"free_gas", "at p0 [-], 0 ... 1"},
           vacuum);
}

}  // namespace evenfront::python
