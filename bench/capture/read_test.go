package capture

import (
	"fmt"
	"strings"
	"testing"
)

func TestSketch(t *testing.T) {
	for _, s := range []string{
		"time,ch1\n0,1\n1e-6,2\n2e-6,3\n",
		"\xef\xbb\xbfZeit;Kanal A\r\n(ms);(mV)\r\n0,0;1,5\r\n0,1;2,5\r\n0,2;3,",
		"Record Length,4,,0,0.1\nSample Interval,1e-6,,1e-6,0.2\nUnits,V,,2e-6,0.3\n,,,3e-6,0.4\n,,,4e-6,0.4\n,,,5e-6,0.4\n,,,6e-6,0.4\n,,,7e-6,0.4\n",
		"Index,CH1,Start,Increment,\n,V,-1.0e-3,1e-6,\n0,1,,\n1,2,,\n2,3,,\n",
		"Frequency (MHz) | Level (dBm)\n3 | -20\n2 | -21\n1|-22\n",
		"0.1 2\n0.2 3\n",
		"Sampling rate: 1 MSa/s\nVoltage (mV)\n1\n2\n3\n",
		"0,5\n1,05\n2,3\n",
		"0,001,1,25\n0,002,1,35\n",
	} {
		tb, err := Read(strings.NewReader(s), "x.csv", Options{})
		if err != nil {
			fmt.Println("ERR", err)
			continue
		}
		fmt.Println(tb.Guess.String())
		fmt.Println("   ", tb.X, tb.Channels, strings.Join(tb.Warnings, "\n    "))
	}
}
