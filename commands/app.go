// Package commands is the bot without a chat: every command, button and form as
// a function from a request to a reply value. Adapters (Discord, the local page,
// the ask subcommand) hand over raw facts and show what comes back.
package commands

import (
	"context"
	"errors"
	"fmt"
	"log/slog"
	"time"

	"shimwright/commands/drawing"
	"shimwright/solver"
	"shimwright/storage"
)

// Caller is who asks and where, as the platform says it. Names are untrusted text.
type Caller struct {
	Platform   string // "discord", "local", "ask"
	ShopKey    string // the platform's key of the server; empty in a direct message
	ShopName   string
	MemberKey  string
	MemberName string
	Roles      []string // the platform's keys of the member's roles
	Admin      bool     // may administrate the server
	// Interaction is the platform's unique id of this request; empty where the
	// platform has none.
	Interaction string
	At          time.Time
}

// Call is a command with its options, all as text: what was typed.
type Call struct {
	Caller
	Name    string // "stack", or "set add" where the command has subcommands
	Options map[string]string
}

// Press is a button that was pressed, or a form that was sent in with its
// values by field name. The id is not trusted.
type Press struct {
	Caller
	ID     string
	Values map[string]string
}

// Reply is what an adapter shows. Text makes sense alone, its first line is the
// answer.
type Reply struct {
	Text    string
	Private bool // only the asker may see it
	// Replace says that a reply to a press takes the place of the message that
	// the button was on, where the adapter can do that.
	Replace  bool
	Details  []Detail // behind buttons on a phone, below the text in a terminal
	Actions  []Action
	Pictures []Picture
	Data     any // the public JSON form; nil for none
}

// Detail is a part of a reply that a phone shows when its button is pressed.
type Detail struct {
	Action Action
	Text   string
}

// Action is a button. One with a Form opens it; its values come back as a Press
// with the action's id.
type Action struct {
	ID    string
	Label string // at most 80 characters
	Row   int    // buttons of one row stand together
	Form  *Form
}

// Form asks for a few lines of text.
type Form struct {
	Title  string // at most 45 characters
	Fields []Field
}

// Field is one line of a form.
type Field struct {
	Name     string
	Label    string // at most 45 characters
	Example  string // at most 100 characters
	Required bool
	Max      int // characters; 0: 200
}

// Picture is a scene that an adapter turns into an image.
type Picture struct {
	Name  string // file name without its ending
	Alt   string // says the same as the picture
	Scene drawing.Scene
}

// Choice is one completion or one fixed value of an option.
type Choice struct {
	Label string // 1 to 100 characters
	Value string // 1 to 100 characters
}

// Command is a slash command: its definition and its function are one value. A
// command either runs itself or has subcommands.
type Command struct {
	Name    string
	Summary string // at most 100 characters
	Options []Option
	Subs    []Command
	// Private says how an adapter defers when the reply takes long, and must
	// agree with the replies.
	Private bool
	// DM says that the command works in a direct message too.
	run func(*session, args) (Reply, error)
}

// Option of a command. Values reach the command as text whatever the kind.
type Option struct {
	Name     string
	Summary  string
	Kind     Kind
	Required bool
	Choices  []Choice // fixed values; at most 25
	complete func(*session, string) ([]Choice, error)
}

// Completes says whether the option offers completions while it is typed.
func (o Option) Completes() bool { return o.complete != nil }

// Kind is what an option takes.
type Kind uint8

// The kinds of option. Lengths are Text: phones refuse fractions in numbers.
const (
	Text    Kind = iota
	Whole        // a whole number
	YesNo        // "yes" or "no"
	Role         // the platform's key of a role
	Channel      // the platform's key of a channel
)

// UserError is an input that cannot be used, or a right that is lacking. It is
// shown to the asker alone.
type UserError struct {
	Option  string // the option at fault; empty where none is
	Message string // what was wrong
	Hint    string // one right example, or who can help
}

func (e *UserError) Error() string { return e.Message }

// Store is everything the commands ask of storage; each family of commands
// names its own part.
type Store interface {
	shopStore
}

// App answers requests. All fields but Log are needed.
type App struct {
	Store Store
	Log   *slog.Logger
}

// Commands lists every command, in the order of /help.
func Commands() []Command { return nil }

var _ = fmt.Sprint
var _ = errors.New

// shopStore knows shops and members.
type shopStore interface {
	EnsureShop(ctx context.Context, key, name string, start storage.Start, at time.Time) (storage.Shop, error)
	EnsureMember(ctx context.Context, shopID int64, key, name string) (storage.Member, error)
	UpdateMember(ctx context.Context, shopID, memberID int64, f func(*storage.Member) error) (storage.Member, error)
	UpdateShop(ctx context.Context, shopID int64, f func(*storage.Shop) error) (storage.Shop, error)
}

// session is one request with its shop and member loaded.
type session struct {
	context.Context
	app        *App
	caller     Caller
	shop       storage.Shop
	member     storage.Member
	instructor bool
	style      solver.Style
}

type args map[string]string

// Run answers a command. An error is a *UserError, or a fault of ours that the
// adapter reports with a reference.
func (a *App) Run(ctx context.Context, c Call) (Reply, error) { return Reply{}, nil }

// Complete offers at most 25 values for an option that is being typed. Other
// options may be absent or half typed.
func (a *App) Complete(ctx context.Context, c Call, option string) ([]Choice, error) { return nil, nil }

// Press answers a button or a form.
func (a *App) Press(ctx context.Context, p Press) (Reply, error) { return Reply{}, nil }

// FormFor is the form that a button opens, from its id alone: opening a form
// reads no storage. The second result is false for a button that opens none.
func FormFor(id string) (Form, bool) { return Form{}, false }

// PrivatePress says, from a button's id alone, whether its reply is private.
func PrivatePress(id string) bool { return true }
