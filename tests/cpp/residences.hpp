#pragma once
/// What tests of residence times share.
#include <boost/math/quadrature/gauss_kronrod.hpp>
#include <functional>
#include <vector>

#include "evenfront/residence_time.hpp"

namespace residences {

using evenfront::Residence;
using evenfront::ResidenceTime;

inline double integrate(const std::function<double(double)>& f, double from, double to) {
    return boost::math::quadrature::gauss_kronrod<double, 61>::integrate(f, from, to, 5, 1e-12);
}

/// One of each kind, from wide to narrow, of finite variance.
inline const std::vector<ResidenceTime>& family() {
    static const std::vector<ResidenceTime> members{{Residence::plug, 0.0},
                                                    {Residence::tanks, 1.0},
                                                    {Residence::tanks, 4.7},
                                                    {Residence::tanks, 200.0},
                                                    {Residence::dispersion, 1.0},
                                                    {Residence::dispersion, 30.0},
                                                    {Residence::dispersion, 100.0},
                                                    {Residence::dispersion, 5000.0}};
    return members;
}

}  // namespace residences
