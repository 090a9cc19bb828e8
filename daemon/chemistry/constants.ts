/** The physical constants that turn charge into metal. */

/**
 * Faraday constant, C/mol: the charge of one mole of electrons. Exact since the SI of 2019, as the
 * product of e = 1.602176634e-19 C and N_A = 6.02214076e23 /mol. Source: CODATA 2018 and 2022.
 */
export const faradayCoulombsPerMol = 96_485.332_123_310_01;

/** Coulombs in one ampere hour; exact. */
export const coulombsPerAmpHour = 3600;
