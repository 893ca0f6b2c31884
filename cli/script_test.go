package cli

import (
	"fmt"
	"os"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

func TestMain(m *testing.M) {
	testscript.Main(m, map[string]func(){
		"knobwise": func() { os.Exit(Run(os.Args[1:], os.Stdout, os.Stderr)) },
	})
}

// TestScripts runs the command lines in testdata/script. UPDATE_GOLDEN=1 rewrites the expected outputs in them.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:                 "testdata/script",
		UpdateScripts:       os.Getenv("UPDATE_GOLDEN") != "",
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Cmds: map[string]func(*testscript.TestScript, bool, []string){
			// fails STATUS COMMAND…: the command ends with that exit status and writes nothing to its standard output.
			"fails": func(ts *testscript.TestScript, _ bool, args []string) {
				want, err := strconv.Atoi(args[0])
				ts.Check(err)
				err = ts.Exec(args[1], args[2:]...)
				got := 0
				if exit, ok := err.(interface{ ExitCode() int }); ok {
					got = exit.ExitCode()
				}
				if got != want {
					ts.Fatalf("exit status %d, want %d\n%s", got, want, ts.ReadFile("stderr"))
				}
				if out := ts.ReadFile("stdout"); out != "" {
					ts.Fatalf("standard output: %q", out)
				}
			},
			// lines N FILE: the file has N lines.
			"lines": func(ts *testscript.TestScript, _ bool, args []string) {
				count := 0
				for _, c := range ts.ReadFile(args[1]) {
					if c == '\n' {
						count++
					}
				}
				if fmt.Sprint(count) != args[0] {
					ts.Fatalf("%s has %d lines, want %s", args[1], count, args[0])
				}
			},
		},
	})
}
