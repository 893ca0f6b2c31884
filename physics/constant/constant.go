// Package constant holds the physical constants of the project, in SI base units.
//
// It holds no unit conversions beyond the neper, no material data and no formulas. The vacuum constants are the
// CODATA 2018 values; CODATA 2022 and the old exact 4π·10⁻⁷ H/m differ from them by less than 1 part in 10⁹, far
// below anything a bench can show.
package constant

const (
	// SpeedOfLight in vacuum, m/s; exact (SI 2019).
	SpeedOfLight = 299792458.0

	// VacuumPermeability μ0, H/m (CODATA 2018).
	VacuumPermeability = 1.25663706212e-6

	// VacuumPermittivity ε0, F/m (CODATA 2018).
	VacuumPermittivity = 8.8541878128e-12

	// Boltzmann constant k, J/K; exact (SI 2019).
	Boltzmann = 1.380649e-23

	// ReferenceTemperature T0 to which noise figures refer, K; exact by convention (IEEE, ITU-R P.372).
	ReferenceTemperature = 290.0

	// DecibelsPerNeper is 20/ln 10, the decibels in one neper of attenuation.
	DecibelsPerNeper = 8.68588963806503655302
)
