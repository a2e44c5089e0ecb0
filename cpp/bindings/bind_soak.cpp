#include "evenfront/soak.hpp"

#include "functions.hpp"

namespace evenfront::python {

void bind_soak(py::module_& m) {
    const Given biot{"biot", "h R/lambda [-], > 0; infinite: wall held at its temperature"};
    const Given fourier{"fourier", "alpha t/R^2 [-], 0 or at least 1e-4"};
    const Given position{"position", "from the middle, over R [-], 0 ... 1"};
    const Given left{"left", "of the temperature difference, in the middle [-], > 0 and < 1"};
    const Given number{"k", "1, 2, ... [-]"};

    // Two bodies, one series: each function once for a slab and once for a long cylinder.
    define(
        m,
        "slab_root",
        +[](double b, int k) { return soak_root(Body::slab, b, k); },
        {"k-th root of z tan z = Bi.", "root [-]"},
        biot,
        number);
    define(
        m,
        "cylinder_root",
        +[](double b, int k) { return soak_root(Body::cylinder, b, k); },
        {"k-th root of z J1(z) = Bi J0(z).", "root [-]"},
        biot,
        number);
    define(
        m,
        "slab_soak",
        +[](double b, double fo, double s) { return soak(Body::slab, b, fo, s); },
        {"Temperature difference left in a slab; R is half its thickness.",
         "(T - T_wall)/(T_start - T_wall) [-]"},
        biot,
        fourier,
        position);
    define(
        m,
        "cylinder_soak",
        +[](double b, double fo, double s) { return soak(Body::cylinder, b, fo, s); },
        {"Temperature difference left in a long cylinder.", "(T - T_wall)/(T_start - T_wall) [-]"},
        biot,
        fourier,
        position);
    define(
        m,
        "slab_soak_mean",
        +[](double b, double fo) { return soak_mean(Body::slab, b, fo); },
        {"Mean temperature difference left in a slab.", "mean difference over that at start [-]"},
        biot,
        fourier);
    define(
        m,
        "cylinder_soak_mean",
        +[](double b, double fo) { return soak_mean(Body::cylinder, b, fo); },
        {"Mean temperature difference left in a long cylinder.",
         "mean difference over that at start [-]"},
        biot,
        fourier);
    define(
        m,
        "slab_fourier",
        +[](double b, double y) { return soak_fourier(Body::slab, b, y); },
        {"Fourier number at which the middle of a slab has come that close to the wall.",
         "alpha t/R^2 [-]"},
        biot,
        left);
    define(
        m,
        "cylinder_fourier",
        +[](double b, double y) { return soak_fourier(Body::cylinder, b, y); },
        {"Fourier number at which the middle of a long cylinder has come that close.",
         "alpha t/R^2 [-]"},
        biot,
        left);
    define(m,
           "temperature_for_viscosity",
           &temperature_for_viscosity,
           {"Temperature at which the consistency is a multiple of that at another.",
            "temperature [K]"},
           Given{"rheology", "the viscosity law [-]"},
           Given{"temperature", "[K], > 0"},
           Given{"factor", "consistency wanted over that at `temperature` [-], > 0"});
    define(m,
           "heat_rate",
           &heat_rate,
           {"Heat rate that warms a flow, rho c q dT.", "heat rate [W]"},
           Given{"flow", "[m^3/s], >= 0"},
           Given{"density", "[kg/m^3], > 0"},
           Given{"specific_heat", "[J/(kg K)], > 0"},
           Given{"rise", "of temperature [K]"});
    define(m,
           "line_loss",
           &line_loss,
           {"Heat rate lost through an insulated round line.", "heat rate [W]"},
           Given{"length", "[m], > 0"},
           Given{"inside", "diameter of the insulation [m], > 0"},
           Given{"outside", "diameter of the insulation [m], at least `inside`"},
           Given{"conductivity", "of the insulation [W/(m K)], > 0"},
           Given{"film", "heat transfer to the room [W/(m^2 K)], > 0"},
           Given{"difference", "line less room [K]"});
}

}  // namespace evenfront::python
