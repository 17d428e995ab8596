// Package commands is the bot without a chat: every command, button and form as
// a function from a request to a reply value. Adapters (Discord, the local page,
// the ask subcommand) hand over raw facts and show what comes back.
package commands

import (
	"time"

	"shimwright/commands/drawing"
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
	Names   map[string]string // what the platform calls the roles and channels among the options, by key
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
	Files    []File
	Data     any // the public JSON form; nil for none
}

// File is a document that an adapter attaches.
type File struct {
	Name string // with its ending
	Type string // media type
	Alt  string // what it is
	Data []byte
}

// Detail is a part of a reply that a phone shows when its button is pressed.
type Detail struct {
	Action Action
	Text   string
	// Now says that it is shown at once, to the asker alone, after a reply that
	// others may see too.
	Now bool
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
	// Ask is the button that asks for it: a shared channel shows the button in the
	// picture's place, a page of one's own the picture. Nil: it is shown at once.
	Ask *Action
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
	Example string // one right way to type it; shown where one was wrong
	// Private says how an adapter defers when the reply takes long, and must
	// agree with the replies.
	Private bool
	run     func(*session, args) (Reply, error)
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

// App answers requests.
type App struct {
	Store Store
}

// Store is everything the commands ask of storage; each family of commands
// names its own part.
type Store interface {
	shopStore
	directStore
	setStore
	sawStore
	setupStore
	listStore
	cutStore
	loadStore
	custodyStore
	retireStore
	confirmStore
	upkeepStore
	rosterStore
	reportStore
	outcomeStore
	nearMissStore
	lotStore
	personalStore
	dueStore
}
