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

// drawPicture is a scene as adapters send it: light, to be read at a bright bench.
func drawPicture(s drawing.Scene) ([]byte, error) { return drawing.PNG(s, drawing.Light()) }
