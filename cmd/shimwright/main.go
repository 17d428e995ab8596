// Shimwright is a chat bot for a woodworking class or shop team: it answers
// which cutters and shims to stack so that a panel fits its dado, and learns
// from test cuts how each set really cuts.
package main

import (
	"context"
	"errors"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"
	"strings"
	"syscall"
	"time"
	_ "time/tzdata" // shops name their time zone; a small image has no zone files
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt, syscall.SIGTERM)
	code := run(ctx, os.Args[1:], os.Getenv, os.Stdin, os.Stdout, os.Stderr)
	stop()
	os.Exit(code)
}

// Exit codes. Serve adds those of bot.Fatal.
const (
	exitOK    = 0
	exitFault = 1
	exitInput = 2 // an input that cannot be used, or a right that is lacking
)

// subcommand is one way to run the program.
type subcommand struct {
	name, summary string
	run           func(context.Context, *program, []string) int
}

func subcommands() []subcommand {
	return []subcommand{
		{"ask", "answer one command, or a command a line from standard input", ask},
		{"local", "a chat page on this machine, to try the bot without an account", localPage},
		{"serve", "connect to Discord and answer there", serve},
		{"register", "write the commands to Discord, or take them away", register},
	}
}

// program is what a subcommand has of the world.
type program struct {
	env            func(string) string
	stdin          io.Reader
	stdout, stderr io.Writer
	now            func() time.Time
}

func run(ctx context.Context, args []string, env func(string) string, stdin io.Reader, stdout, stderr io.Writer) int {
	p := &program{env, stdin, stdout, stderr, time.Now}
	return p.run(ctx, args)
}

// run carries out one subcommand; the result is the exit code.
func (p *program) run(ctx context.Context, args []string) int {
	if len(args) == 0 || args[0] == "help" || args[0] == "-h" || args[0] == "--help" {
		p.usage(p.stdout)
		return exitOK
	}
	for _, s := range subcommands() {
		if s.name == args[0] {
			return s.run(ctx, p, args[1:])
		}
	}
	fmt.Fprintf(p.stderr, "shimwright has no subcommand %q.\n", args[0])
	p.usage(p.stderr)
	return exitInput
}

func (p *program) usage(w io.Writer) {
	fmt.Fprintln(w, "Usage: shimwright SUBCOMMAND [flags]")
	for _, s := range subcommands() {
		fmt.Fprintf(w, "  %-9s %s\n", s.name, s.summary)
	}
	fmt.Fprintln(w, "shimwright SUBCOMMAND -h shows its flags.")
}

// parse reads flags; done says that the subcommand is to end with code.
func (p *program) parse(f *flag.FlagSet, args []string) (code int, done bool) {
	f.SetOutput(p.stderr)
	switch err := f.Parse(args); {
	case errors.Is(err, flag.ErrHelp):
		return exitOK, true
	case err != nil:
		return exitInput, true
	}
	return 0, false
}

// fault reports what went wrong on our side, in one line.
func (p *program) fault(err error) int {
	fmt.Fprintf(p.stderr, "shimwright: %s\n", strings.TrimSpace(err.Error()))
	return exitFault
}

// dbFlag is the database file: the flag, else SHIMWRIGHT_DB, else ./shimwright.db.
func (p *program) dbFlag(f *flag.FlagSet) *string {
	path := p.env("SHIMWRIGHT_DB")
	if path == "" {
		path = "shimwright.db"
	}
	return f.String("db", path, "database `file` (SHIMWRIGHT_DB)")
}
