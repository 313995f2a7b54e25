#include "rating/coax.h"

#include "base/check.h"
#include "base/units.h"

CoaxFit coax_fit(RatingCurve db_per_m_by_mhz) {
    /* Weighted by 1/y: minimise sum (a1*u + a2*v - 1)^2 with u = sqrt(f)/y, v = f/y. */
    double uu = 0.0;
    double uv = 0.0;
    double vv = 0.0;
    double u1 = 0.0;
    double v1 = 0.0;
    CHECK(db_per_m_by_mhz.count > 0);
    for (size_t i = 0; i < db_per_m_by_mhz.count; i++) {
        RatingPoint p = db_per_m_by_mhz.points[i];
        CHECK(p.x > 0.0 && p.y > 0.0);
        double u = sqrt(p.x) / p.y;
        double v = p.x / p.y;
        uu += u * u;
        uv += u * v;
        vv += v * v;
        u1 += u;
        v1 += v;
    }
    CoaxFit skin_only = {.a1 = u1 / uu};
    if (db_per_m_by_mhz.count == 1) {
        return skin_only;
    }
    double determinant = uu * vv - uv * uv;
    CoaxFit both = {(u1 * vv - v1 * uv) / determinant, (v1 * uu - u1 * uv) / determinant};
    if (both.a2 < 0.0) {
        return skin_only;
    }
    if (both.a1 < 0.0) {
        both = (CoaxFit){.a2 = v1 / vv};
    }
    return both;
}

double coax_fit_db_per_m(CoaxFit fit, double mhz) {
    return fit.a1 * sqrt(mhz) + fit.a2 * mhz;
}

RatingValue coax_db_per_m(RatingCurve db_per_m_by_mhz, double mhz) {
    size_t count = db_per_m_by_mhz.count;
    if (count == 0) {
        return rating_not_proved();
    }
    for (size_t i = 0; i < count; i++) {
        if (db_per_m_by_mhz.points[i].x == mhz) {
            return rating_published(db_per_m_by_mhz.points[i].y);
        }
    }
    double fitted = coax_fit_db_per_m(coax_fit(db_per_m_by_mhz), mhz);
    RatingValue between = curve_log_log(db_per_m_by_mhz, mhz);
    if (between.basis == RATING_NOT_PROVED) {
        bool below = mhz < db_per_m_by_mhz.points[0].x;
        return (RatingValue){fitted, below ? RATING_DERIVED : RATING_NOT_PROVED};
    }
    return between.value >= fitted ? between : rating_derived(fitted);
}

double coax_impedance_ohm(double shield_mm, double core_mm, double permittivity) {
    return 138.0 * log10(shield_mm / core_mm) / sqrt(permittivity);
}

double coax_pf_per_m(double shield_mm, double core_mm, double permittivity) {
    return 7.36 * permittivity / log10(shield_mm / core_mm) / UNITS_M_PER_FT;
}
