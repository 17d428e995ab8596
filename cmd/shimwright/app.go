package main

import (
	"context"
	"errors"
	"time"

	"shimwright/commands"
	"shimwright/commands/drawing"
	"shimwright/storage/sqlite"
)

// openApp assembles the one App that ask, local, serve and the conversation
// tests share. close ends it.
func openApp(ctx context.Context, path string) (app *commands.App, closeApp func() error, err error) {
	return openTimedApp(ctx, path, nil)
}

// openTimedApp is openApp with timed called after every transaction.
func openTimedApp(ctx context.Context, path string, timed func(kind string, took time.Duration)) (app *commands.App, closeApp func() error, err error) {
	db, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	db.Timed(timed)
	app = &commands.App{Store: db}
	if err := app.Relearn(ctx); err != nil {
		return nil, nil, errors.Join(err, db.Close())
	}
	return app, db.Close, nil
}

// pictures draws scenes as adapters send them, each once: light, to be read at a
// bright bench.
func pictures() func(drawing.Scene) ([]byte, error) {
	var drawn drawing.Cache
	return inTurn(func(s drawing.Scene) ([]byte, error) { return drawn.PNG(s, drawing.Light()) })
}

// easels is how many pictures are drawn at a time: one takes some 10 MiB while it
// is drawn, and a whole class may ask at the same moment.
const easels = 2

func inTurn(draw func(drawing.Scene) ([]byte, error)) func(drawing.Scene) ([]byte, error) {
	free := make(chan struct{}, easels)
	return func(s drawing.Scene) ([]byte, error) {
		free <- struct{}{}
		defer func() { <-free }()
		return draw(s)
	}
}
