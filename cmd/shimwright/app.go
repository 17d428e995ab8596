package main

import (
	"context"

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
	return &commands.App{Store: db}, db.Close, nil
}
