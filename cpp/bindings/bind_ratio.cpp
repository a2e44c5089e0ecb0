#include "evenfront/ratio.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_ratio(py::module_& m) {
    const Given resin_density{"resin_density", "where the volume is read [kg/m^3], > 0"};
    const Given hardener_density{"hardener_density", "where the volume is read [kg/m^3], > 0"};
    const Given resin_bore{"resin_bore", "of the resin's cylinder [m], > 0"};

    define(m,
           "equivalent_weight",
           &equivalent_weight,
           {"Mass per reactive group, M/f.",
            "equivalent weight [unit of M]",
            ">>> equivalent_weight(103.0, 5)\n20.6"},
           Given{"molar_mass", "M [g/mol or kg/mol], > 0"},
           Given{"groups", "f, reactive groups per molecule [-], > 0"});
    define_plain(
        m,
        "blend_equivalent",
        &blend_equivalent,
        {"Equivalent weight of a blend, sum(w)/sum(w/E).", "equivalent weight [unit of E]"},
        Given{"mass", "w of each part [-], >= 0"},
        Given{"equivalent", "E of each part [g/mol or kg/mol], > 0; infinite: inert"});
    define(m,
           "stoichiometric_ratio",
           &stoichiometric_ratio,
           {"Ratio by weight at which the reactive groups meet.",
            "hardener per resin by weight [-]; 100 times it is phr",
            ">>> round(stoichiometric_ratio(20.6, 200.0), 6)\n0.103"},
           Given{"hardener_equivalent", "[g/mol or kg/mol], > 0"},
           Given{"resin_equivalent", "in the same unit [g/mol or kg/mol], > 0"},
           Preset<double>{"stoichiometry", 1.0, "hardener groups per resin group [-], > 0"});
    define(m,
           "volume_ratio",
           &volume_ratio,
           {"Ratio by volume of a ratio by weight, w rho_r/rho_h.",
            "hardener per resin by volume [-]"},
           Given{"weight_ratio", "hardener per resin by weight [-], > 0"},
           resin_density,
           hardener_density);
    define(m,
           "weight_ratio",
           &weight_ratio,
           {"Ratio by weight of a ratio by volume, r rho_h/rho_r.",
            "hardener per resin by weight [-]"},
           Given{"volume_ratio", "hardener per resin by volume [-], > 0"},
           resin_density,
           hardener_density);
    define(
        m,
        "liquid_per_volume",
        &liquid_per_volume,
        {"Liquid volume (mass over reference density) per actual volume.", "rho(p, T)/rho_ref [-]"},
        Given{"liquid", "the liquid [-]"},
        Given{"pressure", "gauge [Pa], > -p0"},
        Given{"temperature", "of the liquid [K]"});
    define(m,
           "bore_ratio",
           &bore_ratio,
           {"Ratio by actual volume that two bores on one shaft meter.",
            "(d_h/d_r)^2 [-]",
            ">>> round(bore_ratio(0.05, 0.02), 6)\n0.16"},
           resin_bore,
           Given{"hardener_bore", "of the hardener's cylinder [m], > 0"});
    define(m,
           "metered_ratio",
           &metered_ratio,
           {"Ratio by liquid volume that two bores deliver without leak.",
            "hardener per resin by liquid volume [-]"},
           resin_bore,
           Given{"hardener_bore", "of the hardener's cylinder [m], > 0"},
           Given{"resin_liquid", "liquid per volume in the resin's cylinder [-], > 0"},
           Given{"hardener_liquid", "liquid per volume in the hardener's cylinder [-], > 0"});
    define(m,
           "hardener_bore",
           &hardener_bore,
           {"Bore of the hardener's cylinder that delivers a ratio.", "bore [m]"},
           Given{"ratio", "hardener per resin by liquid volume [-], > 0"},
           resin_bore,
           Preset<double>{"resin_liquid", 1.0, "liquid per volume in its cylinder [-], > 0"},
           Preset<double>{"hardener_liquid", 1.0, "liquid per volume in its cylinder [-], > 0"});
}

}  // namespace evenfront::python
