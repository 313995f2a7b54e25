/* Short circuits: how long a conductor stands a current that leaves no time for heat to go away,
 * and what melts it. Goes in: copper area, start and end temperature, amperes or seconds. Comes
 * out: amperes, seconds or A2s. Meant for seconds, not minutes (heat that does leave is ignored, so
 * the figure errs low). Two published laws differ by 1.7 % in A2s: adiabatic_safer_i2t takes the
 * lower. The melting laws say when a wire is lost, never that it is safe. */
#ifndef RATING_ADIABATIC_H
#define RATING_ADIABATIC_H

/* (I/A)^2 t = 0.0297*log10((T2+234)/(T1+234)), A in circular mils (insulated cable engineers'
 * form; formula opened; other editions print 234.5): A2s the conductor takes from t1 to t2. */
double adiabatic_icea_i2t(double area_cmil, double t1_degc, double t2_degc);

/* k = 226*sqrt(ln(1 + (Tf-Ti)/(234.5+Ti))) for copper, A s^0.5/mm2 (IEC 60364-5-54 annex form;
 * formula and printed k from memory, corroborated by the computed ones). */
double adiabatic_iec_k(double ti_degc, double tf_degc);

/* I2t = k^2 S^2 by the same. */
double adiabatic_iec_i2t(double area_mm2, double ti_degc, double tf_degc);

/* The lower of the two laws, A2s. */
double adiabatic_safer_i2t(double area_mm2, double t1_degc, double t2_degc);

/* The current that uses up `i2t` in `seconds`, and the time that `current_a` takes. */
double adiabatic_current_a(double i2t, double seconds);
double adiabatic_time_s(double i2t, double current_a);

/* I = A*sqrt(log10((Tm-Ta)/(234+Ta)+1)/(33 t)): melting current of copper, A in circular mils
 * (Onderdonk; opened; the worked example printed beside it uses 234-Ta, a slip of sign). Up to
 * about 10 s. */
double adiabatic_onderdonk_a(double area_cmil, double seconds, double ta_degc, double tm_degc);

/* I = 10244*d^1.5, d in inches: steady melting current of a copper wire in air (Preece; opened). */
double adiabatic_preece_a(double diameter_in);

/* Melting point of copper in degC, as the melting law uses it. */
#define ADIABATIC_COPPER_MELTS_DEGC 1083.0

#endif
