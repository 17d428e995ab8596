package main

import (
	"context"
	"crypto/rand"
	"errors"
	"flag"
	"fmt"
	"io/fs"
	"log/slog"
	"os"

	"shimwright/bot/local"
	"shimwright/commands"
	"shimwright/commands/drawing"
)

// localPage serves the chat page on this machine.
func localPage(ctx context.Context, p *program, args []string) int {
	f := flag.NewFlagSet("local", flag.ContinueOnError)
	db := p.dbFlag(f)
	addr := f.String("addr", "127.0.0.1:8099", "loopback `address` to listen on")
	if code, done := p.parse(f, args); done {
		return code
	}
	listener, err := local.Listen(*addr)
	if err != nil {
		return p.fault(err)
	}
	_, statErr := os.Stat(*db)
	app, closeApp, err := openApp(ctx, *db)
	if err != nil {
		listener.Close()
		return p.fault(err)
	}
	defer closeApp() //nolint:errcheck // every commit is durable before its reply
	if errors.Is(statErr, fs.ErrNotExist) {
		if err := seedDemo(ctx, app, p.now()); err != nil {
			listener.Close()
			return p.fault(err)
		}
	}
	page, err := local.New(local.Config{
		App: app, Commands: commands.Commands(), Parse: commands.ParseLine,
		ShopKey: demoShopKey, ShopName: demoShopName, People: demoPeople(),
		Log: slog.New(slog.NewTextHandler(p.stderr, nil)), Now: p.now, NewID: rand.Text, Raster: new(drawing.Cache).PNG,
	})
	if err != nil {
		listener.Close()
		return p.fault(err)
	}
	fmt.Fprintf(p.stdout, "Open http://%s/ in a browser on this machine. Ctrl-C ends it.\n", listener.Addr())
	if err := page.Serve(ctx, listener); err != nil {
		return p.fault(err)
	}
	return exitOK
}
