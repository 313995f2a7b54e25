/* Coaxial cable: loss against frequency, impedance. Goes in: published points (MHz, dB/m), copper
 * and dielectric diameters. Comes out: dB/m, ohms, pF/m. Between published points the higher of
 * two readings is taken: the straight line between logarithms, and a1*sqrt(f) + a2*f (skin effect
 * and dielectric loss) fitted to all of them. */
#ifndef RATING_COAX_H
#define RATING_COAX_H

#include "rating/curve.h"

typedef struct CoaxFit {
    double a1; /* dB/m per sqrt(MHz): skin effect */
    double a2; /* dB/m per MHz: dielectric */
} CoaxFit;

/* Least squares of the relative error over the points; neither part negative. At least one point,
 * all above 0. With one point all loss is taken as skin effect. */
CoaxFit coax_fit(RatingCurve db_per_m_by_mhz);

double coax_fit_db_per_m(CoaxFit fit, double mhz);

/* Loss at `mhz`: at a point as published; between points the higher of line and fit (published when
 * the line is the higher, else derived); outside the fit (derived below the first point, where it
 * is an interpolation to 0; not proved, with the fit as value, above the last). */
RatingValue coax_db_per_m(RatingCurve db_per_m_by_mhz, double mhz);

/* Z = 138*log10(D/d)/sqrt(E) in ohms (radio training guide; opened). */
double coax_impedance_ohm(double shield_mm, double core_mm, double permittivity);

/* C = 7.36*E/log10(D/d) pF/ft, here in pF/m (same source). */
double coax_pf_per_m(double shield_mm, double core_mm, double permittivity);

#endif
