package main

import (
	"context"
	"errors"

	"shimwright/commands"
	"shimwright/storage/sqlite"
)

// openApp assembles the one App that ask, local, serve and the conversation
// tests share. close ends it.
func openApp(ctx context.Context, path string) (app *commands.App, closeApp func() error, err error) {
	db, err := sqlite.Open(ctx, path)
	if err != nil {
		return nil, nil, err
	}
	app = &commands.App{Store: db}
	if err := app.Relearn(ctx); err != nil {
		return nil, nil, errors.Join(err, db.Close())
	}
	return app, db.Close, nil
}
