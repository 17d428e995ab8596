// Command fakediscord runs the stand-in for Discord and lets a person act as a
// member: type commands, press buttons, fill forms, and spoil the connection.
//
//	go run ./bot/fakediscord/cmd/fakediscord
//
// It prints the settings with which to start the bot beside it. "help" lists
// what can be typed.
package main

import (
	"context"
	"flag"
	"fmt"
	"io"
	"os"
	"os/signal"

	"shimwright/bot/fakediscord"
)

func main() {
	ctx, stop := signal.NotifyContext(context.Background(), os.Interrupt)
	defer stop()
	if err := run(ctx, os.Args[1:], os.Stdin, os.Stdout); err != nil {
		fmt.Fprintln(os.Stderr, "fakediscord:", err)
		os.Exit(1)
	}
}

func run(ctx context.Context, args []string, in io.Reader, out io.Writer) error {
	flags := flag.NewFlagSet("fakediscord", flag.ContinueOnError)
	flags.SetOutput(out)
	addr := flags.String("addr", "127.0.0.1:8765", "address to listen on")
	seed := flags.Uint64("seed", 1, "seed of the faults that come by chance")
	beat := flags.Duration("heartbeat", 0, "heartbeat interval, 41.25 s as Discord's if zero; a short one to see a silent gateway noticed")
	schemas := flags.String("schemas", "", "folder of Discord's openapi.json (default: DISCORD_SCHEMAS, then ../shared/discord)")
	if err := flags.Parse(args); err != nil {
		return err
	}
	s := &fakediscord.Server{Addr: *addr, Seed: *seed, HeartbeatInterval: *beat, SchemaDir: *schemas}
	if err := s.Start(); err != nil {
		return err
	}
	defer s.Close()
	return newStage(s, out).play(ctx, in)
}
