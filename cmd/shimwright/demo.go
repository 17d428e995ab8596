package main

import (
	"context"
	_ "embed"
	"fmt"
	"strings"
	"time"

	"shimwright/bot/local"
	"shimwright/commands"
)

//go:embed demo.txt
var demoScript string

// The demo shop of the local page. Its people are invented.
const (
	demoShopKey  = "demo"
	demoShopName = "Case class"
)

func demoPeople() []local.Person {
	return []local.Person{
		{Key: "tomek", Name: "Tomek"},
		{Key: "ada", Name: "Ada"},
		{Key: "ines", Name: "Ines", Admin: true},
	}
}

// seedDemo runs the demo script through the App, a line at a time, as if it had
// been typed on the evening that ends at the given time.
func seedDemo(ctx context.Context, app *commands.App, end time.Time) error {
	all := strings.Split(strings.TrimSpace(demoScript), "\n")
	for i, line := range all {
		if strings.HasPrefix(line, "#") {
			continue
		}
		who, line, _ := strings.Cut(line, ": ")
		who, instructor := strings.CutSuffix(who, "*")
		name, options, err := commands.ParseLine(line)
		if err == nil {
			_, err = app.Run(ctx, commands.Call{Name: name, Options: options, Caller: commands.Caller{
				Platform: "local", ShopKey: demoShopKey, ShopName: demoShopName,
				MemberKey: strings.ToLower(who), MemberName: who, Admin: instructor,
				At: end.Add(-time.Duration(len(all)-i) * 4 * time.Minute),
			}})
		}
		if err != nil {
			return fmt.Errorf("demo line %d, %q: %w", i+1, line, err)
		}
	}
	return nil
}
