package figure

import (
	"strings"
	"testing"
)

// Text that is shared with other pictures begins, is centred or ends where its anchor says.
func TestTextPath(t *testing.T) {
	f := face{size: 12}
	width := f.width("L1 22 µH")
	for anchor, shift := range map[string]float64{"start": 0, "middle": -width / 2, "end": -width} {
		got := TextPath("L1 22 µH", 100, 50, 12, false, anchor)
		if want := TextPath("L1 22 µH", 100+shift, 50, 12, false, "start"); got != want || !strings.HasPrefix(got, "m") {
			t.Errorf("%s: %.40s, want %.40s", anchor, got, want)
		}
	}
	if TextPath("x", 0, 0, 12, true, "start") == TextPath("x", 0, 0, 12, false, "start") {
		t.Error("bold looks like regular")
	}
	if Theme(7).Colours() != Light.Colours() || Light.Colours() == Dark.Colours() || Light.Colours().Paper != "#faf8f3" {
		t.Errorf("colours %v", Light.Colours())
	}
}
