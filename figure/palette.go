package figure

import "image/color"

type palette struct {
	paper, panel, ink, muted, hairline, faint color.RGBA
	now, straight, pinned                     color.RGBA
	plain                                     []color.RGBA
}

func rgb(v uint32) color.RGBA { return color.RGBA{uint8(v >> 16), uint8(v >> 8), uint8(v), 255} }

var palettes = [...]palette{
	Light: {
		paper: rgb(0xfaf8f3), panel: rgb(0xffffff), ink: rgb(0x22303c), muted: rgb(0x7c8790),
		hairline: rgb(0xe3ded3), faint: rgb(0xf1eee7),
		now: rgb(0xc2410c), straight: rgb(0x0f766e), pinned: rgb(0x6d5bd0),
		plain: []color.RGBA{rgb(0x44566a), rgb(0x9a6b12), rgb(0x2f6fb0), rgb(0x9d3f73), rgb(0x5d7a1f)},
	},
	Dark: {
		paper: rgb(0x171b20), panel: rgb(0x1d2329), ink: rgb(0xe9e4d8), muted: rgb(0x929da6),
		hairline: rgb(0x343d46), faint: rgb(0x272e36),
		now: rgb(0xf2875a), straight: rgb(0x4fb9ad), pinned: rgb(0xa89cf0),
		plain: []color.RGBA{rgb(0xb3c0cc), rgb(0xd9b264), rgb(0x7fb2e5), rgb(0xe08fb9), rgb(0xa9c765)},
	},
}

const (
	dotRadius = 2.8
	dotLine   = 1.1
)

// pen returns how a style is drawn; nth counts the Plain series before this one.
func (p palette) pen(s Style, nth int) pen {
	switch s {
	case Now:
		return pen{colour: p.now, width: 2.6}
	case Straight:
		return pen{colour: p.straight, width: 1.6, dash: []float64{7, 4}}
	case Pinned:
		return pen{colour: p.pinned, width: 1.2}
	case Measured:
		return pen{colour: p.ink, width: dotLine}
	default:
		w := pen{colour: p.plain[nth%len(p.plain)], width: 1.4}
		if round := nth / len(p.plain); round > 0 {
			// Colours come round again; dashes that grow with each round tell the lines apart.
			w.dash = []float64{2 + 3*float64(min(round, 5)), 3}
		}
		return w
	}
}

func (s Style) String() string {
	switch s {
	case Now:
		return "now"
	case Straight:
		return "straight"
	case Pinned:
		return "pinned"
	case Measured:
		return "measured"
	default:
		return "plain"
	}
}
