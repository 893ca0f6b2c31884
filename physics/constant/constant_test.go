package constant_test

import (
	"math"
	"strconv"
	"strings"
	"testing"

	"knobwise/internal/reference"
	"knobwise/physics/constant"
)

// halfLastDigit is half a unit in the last digit of a number as it is printed, so that "all digits given" can be
// checked: 0.5e-9 for "8.685889638".
func halfLastDigit(t *testing.T, printed string) float64 {
	t.Helper()
	mantissa, exponent, _ := strings.Cut(strings.ToLower(printed), "e")
	power := 0
	if exponent != "" {
		var err error
		if power, err = strconv.Atoi(exponent); err != nil {
			t.Fatal(err)
		}
	}
	_, decimals, _ := strings.Cut(mantissa, ".")
	return 0.5 * math.Pow(10, float64(power-len(decimals)))
}

func TestHalfLastDigit(t *testing.T) {
	for printed, want := range map[string]float64{"8.685889638": 0.5e-9, "290": 0.5, "1.380649e-23": 0.5e-29} {
		if got := halfLastDigit(t, printed); math.Abs(got/want-1) > 1e-12 {
			t.Errorf("%s: got %g, want %g", printed, got, want)
		}
	}
}

func TestPublishedConstants(t *testing.T) {
	noiseFloor := 10 * math.Log10(constant.Boltzmann*constant.ReferenceTemperature)
	// A row with exact true holds a defined or adopted value: nothing but the same number will do.
	values := map[string]struct {
		got   float64
		exact bool
	}{
		"c":              {constant.SpeedOfLight, true},
		"k_B":            {constant.Boltzmann, true},
		"mu_0":           {constant.VacuumPermeability, true},
		"epsilon_0":      {constant.VacuumPermittivity, true},
		"T_0":            {constant.ReferenceTemperature, true},
		"Z_0":            {math.Sqrt(constant.VacuumPermeability / constant.VacuumPermittivity), false},
		"kT0_dBm_per_Hz": {noiseFloor + 30, false},
		"kT0_dBW_per_Hz": {noiseFloor, false},
		"neper_dB":       {constant.DecibelsPerNeper, false},
	}
	ledger := reference.Open(t, "constants.csv")
	for _, row := range ledger.Rows {
		name := row.Text("name")
		value, ok := values[name]
		switch {
		case ok && value.exact:
			ledger.True(row, name+" is the published number", value.got == row.Float("value"))
		case ok:
			ledger.Within(row, name, value.got, row.Float("value"), halfLastDigit(t, row.Text("value")))
		case name == "inch" || name == "foot":
			ledger.NotApplicable(row, "files hold SI units only, so nothing converts from inches or feet")
		case name == "copper_conductivity_IACS_20C":
			ledger.NotApplicable(row, "the loss of a coil is given as Q or resistance, not computed from its copper")
		case strings.HasPrefix(name, "AWG"):
			ledger.NotApplicable(row, "a wire is given by its diameter; gauge numbers are not read")
		}
	}
}

// The vacuum constants belong together: μ0 ε0 c² = 1, to the digits CODATA prints (12).
func TestVacuumConstantsAgree(t *testing.T) {
	product := constant.VacuumPermeability * constant.VacuumPermittivity * constant.SpeedOfLight * constant.SpeedOfLight
	if off := math.Abs(product - 1); off > 2e-11 {
		t.Errorf("mu0 eps0 c^2 = %.15g, off by %g", product, off)
	}
}

func TestNeper(t *testing.T) {
	if want := 20 / math.Ln10; constant.DecibelsPerNeper != want {
		t.Errorf("got %.17g dB/Np, want %.17g", constant.DecibelsPerNeper, want)
	}
}
