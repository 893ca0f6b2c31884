// Package band names ranges of frequencies that people listen to: broadcast and amateur bands by their limits.
//
// The limits are those of the ITU Radio Regulations, Article 5, edition of 2020 (from memory), rounded to what is used.
// Allocations differ from region to region and, inside a region, from country to country: they say where to listen, never
// where one may transmit. A national plan rules.
package band

import (
	"fmt"
	"strings"

	"knobwise/bench/fault"
)

// Band is one band in one or more regions.
type Band struct {
	Name     string  // like "40 m amateur"
	Regions  string  // "123": the ITU regions in which these limits hold
	From, To float64 // Hz
}

// Bands lists the bands from low to high.
var Bands = []Band{
	{"long wave broadcast", "1", 148.5e3, 283.5e3},
	{"630 m amateur", "123", 472e3, 479e3},
	{"medium wave broadcast", "13", 526.5e3, 1606.5e3},
	{"medium wave broadcast", "2", 525e3, 1705e3},
	{"160 m amateur", "1", 1.81e6, 2e6},
	{"160 m amateur", "23", 1.8e6, 2e6},
	{"120 m broadcast", "123", 2.3e6, 2.495e6},
	{"90 m broadcast", "123", 3.2e6, 3.4e6},
	{"80 m amateur", "1", 3.5e6, 3.8e6},
	{"80 m amateur", "2", 3.5e6, 4e6},
	{"80 m amateur", "3", 3.5e6, 3.9e6},
	{"75 m broadcast", "1", 3.95e6, 4e6},
	{"75 m broadcast", "3", 3.9e6, 4e6},
	{"60 m broadcast", "123", 4.75e6, 5.06e6},
	{"60 m amateur", "123", 5.3515e6, 5.3665e6},
	{"49 m broadcast", "123", 5.9e6, 6.2e6},
	{"40 m amateur", "13", 7e6, 7.2e6},
	{"40 m amateur", "2", 7e6, 7.3e6},
	{"41 m broadcast", "13", 7.2e6, 7.45e6},
	{"41 m broadcast", "2", 7.3e6, 7.4e6},
	{"31 m broadcast", "123", 9.4e6, 9.9e6},
	{"30 m amateur", "123", 10.1e6, 10.15e6},
	{"25 m broadcast", "123", 11.6e6, 12.1e6},
	{"22 m broadcast", "123", 13.57e6, 13.87e6},
	{"20 m amateur", "123", 14e6, 14.35e6},
	{"19 m broadcast", "123", 15.1e6, 15.8e6},
	{"16 m broadcast", "123", 17.48e6, 17.9e6},
	{"17 m amateur", "123", 18.068e6, 18.168e6},
	{"15 m broadcast", "123", 18.9e6, 19.02e6},
	{"15 m amateur", "123", 21e6, 21.45e6},
	{"13 m broadcast", "123", 21.45e6, 21.85e6},
	{"12 m amateur", "123", 24.89e6, 24.99e6},
	{"11 m broadcast", "123", 25.67e6, 26.1e6},
	{"10 m amateur", "123", 28e6, 29.7e6},
}

// Caution is what belongs beside every use of a band.
const Caution = "limits of bands are those of the ITU regions, from memory; allocations differ by country, and yours rules"

// Named finds a band by its name in an ITU region (1 to 3). The error lists what there is.
func Named(name string, region int) (Band, error) {
	if region < 1 || region > 3 {
		return Band{}, fault.New(fault.Usage, fmt.Sprintf("there is no ITU region %d", region), "give 1 (Europe, Africa, northern Asia), 2 (the Americas) or 3 (southern Asia, Oceania)")
	}
	here := fmt.Sprint(region)
	elsewhere := false
	var names []string
	for _, b := range Bands {
		if strings.EqualFold(strings.Join(strings.Fields(name), " "), b.Name) {
			if strings.Contains(b.Regions, here) {
				return b, nil
			}
			elsewhere = true
		}
		if strings.Contains(b.Regions, here) {
			names = append(names, b.Name)
		}
	}
	if elsewhere {
		return Band{}, fault.New(fault.Usage, fmt.Sprintf("%s is no band of ITU region %d", name, region), "give --region, or its limits with --from and --to")
	}
	return Band{}, fault.New(fault.Usage, fmt.Sprintf("no band is called %q", name), fault.DidYouMean(name, names))
}
