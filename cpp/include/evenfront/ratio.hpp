#pragma once
#include <Eigen/Core>

#include "evenfront/material.hpp"

/// Mixing ratio from a data sheet: by weight, by volume, by equivalents; bores that meter it.
/// A ratio is always hardener per resin.
namespace evenfront {

/// Mass per reactive group, M/f, in the unit of M (g/mol or kg/mol).
/// @param molar_mass > 0
/// @param groups reactive groups per molecule [-], > 0 (active hydrogens of an amine)
/// Source: definition.
[[nodiscard]] double equivalent_weight(double molar_mass, double groups);

/// Equivalent weight of a blend, sum(w)/sum(w/E), in the unit of E.
/// @param mass parts by mass [-], >= 0
/// @param equivalent of each part, > 0; infinite for what does not react, such as filler
/// @throws std::invalid_argument for lists of different lengths, std::domain_error where nothing
/// reacts. Source: definition.
[[nodiscard]] double blend_equivalent(const Eigen::Ref<const Eigen::VectorXd>& mass,
                                      const Eigen::Ref<const Eigen::VectorXd>& equivalent);

/// Ratio by weight at which each resin group meets `stoichiometry` hardener groups,
/// stoichiometry x E_h/E_r [-]; 100 times it is phr.
/// @param hardener_equivalent, resin_equivalent > 0, in one unit
/// @param stoichiometry hardener groups per resin group [-], > 0
/// Source: definition.
[[nodiscard]] double stoichiometric_ratio(double hardener_equivalent,
                                          double resin_equivalent,
                                          double stoichiometry = 1.0);

/// Ratio by volume of a ratio by weight, w rho_r/rho_h [-].
/// @param weight_ratio > 0; @param resin_density, hardener_density [kg/m^3], > 0, each at the
/// temperature the volumes are read at. Source: definition.
[[nodiscard]] double volume_ratio(double weight_ratio,
                                  double resin_density,
                                  double hardener_density);

/// Ratio by weight of a ratio by volume, r rho_h/rho_r [-]; arguments as for volume_ratio.
[[nodiscard]] double weight_ratio(double volume_ratio,
                                  double resin_density,
                                  double hardener_density);

/// Liquid volume (mass over rho_ref) per actual volume, rho(p, T)/rho_ref [-].
/// @param pressure gauge [Pa], > -p0; @param temperature [K]
/// Below 1: warm or with gas; above 1: compressed. See density.
[[nodiscard]] double liquid_per_volume(const Liquid& liquid, double pressure, double temperature);

/// Ratio by actual volume that two bores on one shaft meter, (d_h/d_r)^2 [-].
/// @param resin_bore, hardener_bore [m], > 0
[[nodiscard]] double bore_ratio(double resin_bore, double hardener_bore);

/// Ratio by liquid volume that two bores deliver, (d_h/d_r)^2 l_h/l_r [-].
/// @param resin_liquid, hardener_liquid l of each stream in its cylinder, > 0, see
/// liquid_per_volume. Without leak this is the steady ratio r_s.
[[nodiscard]] double metered_ratio(double resin_bore,
                                   double hardener_bore,
                                   double resin_liquid,
                                   double hardener_liquid);

/// Bore of the hardener's cylinder that delivers a ratio, the reverse of metered_ratio [m].
/// @param ratio by liquid volume [-], > 0
[[nodiscard]] double hardener_bore(double ratio,
                                   double resin_bore,
                                   double resin_liquid = 1.0,
                                   double hardener_liquid = 1.0);

}  // namespace evenfront
