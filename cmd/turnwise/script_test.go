package main

import (
	"errors"
	"flag"
	"os"
	"os/exec"
	"strconv"
	"testing"

	"github.com/rogpeppe/go-internal/testscript"
)

var update = flag.Bool("update", false, "rewrite the expected output inside the scripts")

// asCommand, set in the environment, makes the test binary be the command itself.
const asCommand = "TURNWISE_AS_COMMAND"

func TestMain(m *testing.M) {
	if os.Getenv(asCommand) != "" {
		main()
	}
	testscript.Main(m, map[string]func(){"turnwise": main})
}

// TestScripts runs every command-line script of testdata/script. Besides the usual commands, `code N COMMAND ...` runs
// a command and checks its exit code.
func TestScripts(t *testing.T) {
	testscript.Run(t, testscript.Params{
		Dir:           "../../testdata/script",
		UpdateScripts: *update,
		Cmds: map[string]func(ts *testscript.TestScript, neg bool, args []string){
			"code": func(ts *testscript.TestScript, neg bool, args []string) {
				if neg || len(args) < 2 {
					ts.Fatalf("usage: code N COMMAND ...")
				}
				want, err := strconv.Atoi(args[0])
				ts.Check(err)
				got := 0
				var exit *exec.ExitError
				if err := ts.Exec(args[1], args[2:]...); errors.As(err, &exit) {
					got = exit.ExitCode()
				} else {
					ts.Check(err)
				}
				if got != want {
					ts.Fatalf("%v: exit code %d, want %d", args[1:], got, want)
				}
			},
		},
	})
}
