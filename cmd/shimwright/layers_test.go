package main_test

import (
	"fmt"
	"go/parser"
	"go/token"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// layers says which of our own packages the files of a folder may import. A
// folder that is missing here is a new layer: decide on it first.
var layers = map[string][]string{
	"cmd/shimwright":   {"bot", "bot/fakediscord", "bot/local", "commands", "commands/drawing", "solver", "storage", "storage/sqlite"},
	"bot":              {"commands", "commands/drawing"},
	"bot/local":        {"commands", "commands/drawing"},
	"commands":         {"commands/drawing", "solver", "storage"},
	"commands/drawing": {"solver"},
	"storage/sqlite":   {"solver", "storage"},
	"storage":          {"solver"},
	"solver":           {},
	// The stand-in is written from Discord's documents, not from our reading of them.
	"bot/fakediscord":                 {},
	"bot/fakediscord/cmd/fakediscord": {"bot/fakediscord"},
}

// home is the one layer that may import a library: who else names the chat
// service or the database would have to change with it.
var home = map[string]string{
	"github.com/bwmarrin/discordgo": "bot",
	"github.com/mattn/go-sqlite3":   "storage/sqlite",
	"database/sql":                  "storage/sqlite",
}

// impure is what the solver does without: values in, values out.
var impure = []string{"context", "crypto/rand", "io", "log", "math/rand", "net", "os", "time"}

// topLevel is all that stands beside the dot files.
var topLevel = []string{"cmd", "bot", "commands", "solver", "storage", "go.mod", "go.sum", "README.md", "DEVELOPERS.md", "Dockerfile"}

func TestLayers(t *testing.T) {
	root := filepath.Join("..", "..")
	for _, breach := range append(breaches(t, root), strays(tracked(t, root))...) {
		t.Error(breach)
	}
}

// tracked lists the files that git keeps: what a user's own runs leave beside
// them is nobody's business. A copy of the project without git has none.
func tracked(t *testing.T, root string) []string {
	t.Helper()
	if _, err := os.Stat(filepath.Join(root, ".git")); err != nil {
		t.Log("no git here: the top level is not checked")
		return nil
	}
	out, err := exec.CommandContext(t.Context(), "git", "-C", root, "ls-files").Output()
	if err != nil {
		t.Fatal(err)
	}
	return strings.Fields(string(out))
}

// strays says which files stand beside the agreed top level.
func strays(files []string) []string {
	var out []string
	for _, file := range files {
		first, _, _ := strings.Cut(file, "/")
		if !strings.HasPrefix(first, ".") && !slices.Contains(topLevel, first) {
			out = append(out, file+" is beside the agreed top level")
		}
	}
	return out
}

func TestLayersFindsEveryBreach(t *testing.T) {
	root := t.TempDir()
	files := map[string]string{
		"README.md":                 "",
		".ci/run":                   "",
		"utils/utils.go":            `package utils`,
		"solver/pure.go":            "package solver\nimport \"math\"",
		"solver/clock.go":           "package solver\nimport \"time\"",
		"solver/dice.go":            "package solver\nimport \"math/rand/v2\"",
		"solver/dice_test.go":       "package solver\nimport (\"math/rand/v2\"; \"shimwright/storage\")",
		"storage/up.go":             "package storage\nimport (\"shimwright/solver\"; \"shimwright/commands\")",
		"commands/sql.go":           "package commands\nimport \"database/sql\"",
		"commands/drawing/up.go":    "package drawing\nimport \"shimwright/commands\"",
		"bot/discord.go":            "package bot\nimport \"github.com/bwmarrin/discordgo\"",
		"bot/solver.go":             "package bot\nimport \"shimwright/solver\"",
		"bot/local/discord.go":      "package local\nimport \"github.com/bwmarrin/discordgo\"",
		"bot/fakediscord/bot.go":    "package fakediscord\nimport \"shimwright/bot\"",
		"bot/windows.go":            "//go:build windows\n\npackage bot\nimport \"shimwright/storage/sqlite\"",
		"cmd/shimwright/sqlite3.go": "package main\nimport (\"shimwright/storage/sqlite\"; _ \"github.com/mattn/go-sqlite3\")",
		"commands/texts/texts.go":   "package texts",
	}
	for name, content := range files {
		file := filepath.Join(root, filepath.FromSlash(name))
		if err := os.MkdirAll(filepath.Dir(file), 0o700); err != nil {
			t.Fatal(err)
		}
		if err := os.WriteFile(file, []byte(content), 0o600); err != nil {
			t.Fatal(err)
		}
	}
	want := []string{
		"bot/fakediscord/bot.go imports shimwright/bot",
		"bot/local/discord.go imports github.com/bwmarrin/discordgo",
		"bot/solver.go imports shimwright/solver",
		"bot/windows.go imports shimwright/storage/sqlite",
		"cmd/shimwright/sqlite3.go imports github.com/mattn/go-sqlite3",
		"commands/drawing/up.go imports shimwright/commands",
		"commands/sql.go imports database/sql",
		"commands/texts is no layer of the table",
		"solver/clock.go imports time",
		"solver/dice.go imports math/rand/v2",
		"storage/up.go imports shimwright/commands",
		"utils is no layer of the table",
		"utils/utils.go is beside the agreed top level",
	}
	got := append(breaches(t, root), strays(slices.Collect(maps.Keys(files)))...)
	slices.Sort(got)
	if diff := cmp.Diff(want, got); diff != "" {
		t.Error(diff)
	}
}

// breaches reads the imports of every Go file below root, whatever its build
// tags, and says which the tables do not allow.
func breaches(t *testing.T, root string) []string {
	t.Helper()
	var out []string
	unknown := map[string]bool{}
	err := fs.WalkDir(os.DirFS(root), ".", func(file string, d fs.DirEntry, err error) error {
		switch {
		case err != nil:
			return err
		case d.IsDir() && file != "." && (strings.HasPrefix(d.Name(), ".") || d.Name() == "testdata"):
			return fs.SkipDir
		case path.Ext(file) != ".go" || strings.HasSuffix(file, "_test.go"):
			return nil
		}
		layer := path.Dir(file)
		if _, known := layers[layer]; !known {
			if !unknown[layer] {
				out = append(out, layer+" is no layer of the table")
			}
			unknown[layer] = true
			return nil
		}
		parsed, err := parser.ParseFile(token.NewFileSet(), filepath.Join(root, file), nil, parser.ImportsOnly)
		if err != nil {
			return err
		}
		for _, spec := range parsed.Imports {
			imported, err := strconv.Unquote(spec.Path.Value)
			if err != nil {
				return err
			}
			if !allowed(layer, imported) {
				out = append(out, fmt.Sprintf("%s imports %s", file, imported))
			}
		}
		return nil
	})
	if err != nil {
		t.Fatal(err)
	}
	return out
}

func allowed(layer, imported string) bool {
	if ours, is := strings.CutPrefix(imported, "shimwright/"); is {
		return slices.Contains(layers[layer], ours)
	}
	below := func(library string) bool {
		return imported == library || strings.HasPrefix(imported, library+"/")
	}
	for library, only := range home {
		if below(library) && layer != only {
			return false
		}
	}
	return layer != "solver" || !slices.ContainsFunc(impure, below)
}
