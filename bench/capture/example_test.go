package capture_test

import (
	"fmt"
	"strings"

	"knobwise/bench/capture"
)

// A capture with semicolons and decimal commas, whose last line breaks off.
func ExampleRead() {
	const file = "Zeit;Kanal A\n(ms);(mV)\n0,0;1,5\n0,1;2,5\n0,2;3,"
	table, err := capture.Read(strings.NewReader(file), "a.csv", capture.Options{})
	if err != nil {
		fmt.Println(err)
		return
	}
	fmt.Println(table.Guess.String())
	fmt.Println(table.X, table.Channels[0].Values)
	for _, w := range table.Warnings {
		fmt.Println(w)
	}
	// Output:
	// UTF-8; delimiter semicolon, decimal comma, 2 header lines; column 1 "Zeit": time in ms; column 2 "Kanal A": channel in mV
	// [0 0.0001] [0.0015 0.0025]
	// the last line, 5, breaks off and is left out: "3," in "Kanal A" is not a number
}

// An error says where, what and what to do instead.
func ExampleRead_error() {
	const file = "Time (s),CH1 (V)\n0,0.5\n1e-6,0.7\n2e-6,O.6\n3e-6,0.5\n"
	_, err := capture.Read(strings.NewReader(file), "a.csv", capture.Options{})
	fmt.Println(err)
	// Output:
	// a.csv:4:6: "O.6" in "CH1" is not a number; write a number such as 0.25, give the number of `header` lines, or leave the column out
}
