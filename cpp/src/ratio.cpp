#include "evenfront/ratio.hpp"

#include <cmath>

#include "evenfront/errors.hpp"

namespace evenfront {

double equivalent_weight(double molar_mass, double groups) {
    require_positive("equivalent_weight", "molar_mass", molar_mass, "");
    require_positive("equivalent_weight", "groups", groups, "");
    return molar_mass / groups;
}

double blend_equivalent(const Eigen::Ref<const Eigen::VectorXd>& mass,
                        const Eigen::Ref<const Eigen::VectorXd>& equivalent) {
    if (mass.size() != equivalent.size()) {
        throw std::invalid_argument("blend_equivalent: mass and equivalent differ in length");
    }
    double groups = 0.0;
    for (Eigen::Index i = 0; i < mass.size(); ++i) {
        require_not_negative("blend_equivalent", "mass", mass[i], "");
        require(equivalent[i] > 0, "blend_equivalent", "equivalent", equivalent[i], "", "> 0");
        groups += mass[i] / equivalent[i];
    }
    require_positive("blend_equivalent", "reactive groups of the blend", groups, "");
    return mass.sum() / groups;
}

double stoichiometric_ratio(double hardener_equivalent,
                            double resin_equivalent,
                            double stoichiometry) {
    const auto* const where = "stoichiometric_ratio";
    require_positive(where, "hardener_equivalent", hardener_equivalent, "");
    require_positive(where, "resin_equivalent", resin_equivalent, "");
    require_positive(where, "stoichiometry", stoichiometry, "");
    return stoichiometry * hardener_equivalent / resin_equivalent;
}

double volume_ratio(double weight_ratio, double resin_density, double hardener_density) {
    require_positive("volume_ratio", "weight_ratio", weight_ratio, "");
    require_positive("volume_ratio", "resin_density", resin_density, "kg/m^3");
    require_positive("volume_ratio", "hardener_density", hardener_density, "kg/m^3");
    return weight_ratio * resin_density / hardener_density;
}

double weight_ratio(double volume_ratio, double resin_density, double hardener_density) {
    require_positive("weight_ratio", "volume_ratio", volume_ratio, "");
    require_positive("weight_ratio", "resin_density", resin_density, "kg/m^3");
    require_positive("weight_ratio", "hardener_density", hardener_density, "kg/m^3");
    return volume_ratio * hardener_density / resin_density;
}

double liquid_per_volume(const Liquid& liquid, double pressure, double temperature) {
    validate(liquid);
    return density(liquid, pressure, temperature) / liquid.density;
}

double bore_ratio(double resin_bore, double hardener_bore) {
    require_positive("bore_ratio", "resin_bore", resin_bore, "m");
    require_positive("bore_ratio", "hardener_bore", hardener_bore, "m");
    const double diameters = hardener_bore / resin_bore;
    return diameters * diameters;
}

double metered_ratio(double resin_bore,
                     double hardener_bore,
                     double resin_liquid,
                     double hardener_liquid) {
    require_positive("metered_ratio", "resin_liquid", resin_liquid, "");
    require_positive("metered_ratio", "hardener_liquid", hardener_liquid, "");
    return bore_ratio(resin_bore, hardener_bore) * hardener_liquid / resin_liquid;
}

double hardener_bore(double ratio, double resin_bore, double resin_liquid, double hardener_liquid) {
    require_positive("hardener_bore", "ratio", ratio, "");
    require_positive("hardener_bore", "resin_bore", resin_bore, "m");
    require_positive("hardener_bore", "resin_liquid", resin_liquid, "");
    require_positive("hardener_bore", "hardener_liquid", hardener_liquid, "");
    return resin_bore * std::sqrt(ratio * resin_liquid / hardener_liquid);
}

}  // namespace evenfront
