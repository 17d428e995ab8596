package commands

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"shimwright/solver"
	"shimwright/storage"
)

// shopStore knows shops and members.
type shopStore interface {
	EnsureShop(ctx context.Context, key, name string, start storage.Start, at time.Time) (storage.Shop, error)
	EnsureMember(ctx context.Context, shopID int64, key, name string) (storage.Member, error)
	UpdateMember(ctx context.Context, shopID, memberID int64, f func(*storage.Member) error) (storage.Member, error)
	UpdateShop(ctx context.Context, shopID int64, f func(*storage.Shop) error) (storage.Shop, error)
	Members(ctx context.Context, shopID int64) ([]storage.Member, error)
}

// Commands lists every command, in the order of /help.
func Commands() []Command {
	return []Command{
		stackCommand(), passesCommand(), fitCommand(), testcutCommand(), tongueCommand(), shelvesCommand(),
		movementCommand(), panelsCommand(), setupsCommand(), againCommand(), gaugeCommand(), printCommand(),
		setCommand(), sawCommand(), classCommand(), unitsCommand(), mydataCommand(), safetyCommand(), helpCommand(),
	}
}

// Run answers a command. An error is a *UserError, or a fault of ours that the
// adapter reports with a reference.
func (a *App) Run(ctx context.Context, c Call) (Reply, error) {
	cmd, err := commandFor(c.Name)
	if err != nil {
		return Reply{}, err
	}
	if err := cmd.check(c.Name, c.Options); err != nil {
		return Reply{}, err
	}
	return a.answer(ctx, c.Caller, func(s *session) (Reply, error) {
		s.named = c.Names
		return cmd.run(s, c.Options)
	})
}

// answer lets a member of the shop be answered, or asks in which shop.
func (a *App) answer(ctx context.Context, c Caller, with func(*session) (Reply, error)) (Reply, error) {
	s, err := a.open(ctx, c)
	var which *whichShop
	if errors.As(err, &which) {
		return which.reply(), nil
	}
	if err != nil {
		return Reply{}, err
	}
	if err := s.noteSeen(); err != nil {
		return Reply{}, err
	}
	return with(s)
}

// Complete offers at most 25 values for an option that is being typed. Other
// options may be absent or half typed.
func (a *App) Complete(ctx context.Context, c Call, option string) ([]Choice, error) {
	cmd, err := commandFor(c.Name)
	if err != nil {
		return nil, err
	}
	opt, ok := cmd.option(option)
	if !ok || opt.complete == nil {
		return nil, nil
	}
	s, err := a.open(ctx, c.Caller)
	if err != nil {
		return nil, err
	}
	all, err := opt.complete(s, c.Options[option])
	return all[:min(len(all), maxChoices)], err
}

// maxChoices is Discord's limit of completions.
const maxChoices = 25

// Press answers a button or a form.
func (a *App) Press(ctx context.Context, p Press) (Reply, error) {
	act, ok := parseAction(p.ID)
	if !ok {
		return Reply{}, &UserError{Message: "That button is not one of mine, or it is from an older version.", Hint: "/setups shows your setups with fresh buttons."}
	}
	if act.verb == verbShop {
		return a.chooseShop(ctx, p.Caller, act)
	}
	return a.answer(ctx, p.Caller, func(s *session) (Reply, error) { return s.press(act, p.Values) })
}

func (s *session) press(act action, values map[string]string) (Reply, error) {
	switch act.verb {
	case verbShow, verbSetup, verbUse:
		return pressSetup(s, act)
	case verbFeel, verbMeasure, verbSlips, verbUndo:
		return pressCut(s, act, values)
	case verbCaution:
		return safetyReply(s), s.hadCautions()
	}
	if press, ok := classPresses[act.verb]; ok {
		return press(s, act, values)
	}
	return Reply{}, fmt.Errorf("no answer to the verb %q", act.verb)
}

// FormFor is the form that a button opens, from its id alone: opening a form
// reads no storage. The second result is false for a button that opens none.
func FormFor(id string) (Form, bool) {
	act, ok := parseAction(id)
	if !ok {
		return Form{}, false
	}
	switch act.verb {
	case verbMeasure:
		return measureForm, true
	case verbSlips:
		return slipsForm, true
	case verbPieces:
		return piecesForm, true
	case verbBack:
		return backForm, true
	}
	return Form{}, false
}

// PrivatePress says, from a button's id alone, whether its reply is private.
func PrivatePress(id string) bool {
	act, ok := parseAction(id)
	return !ok || act.verb == verbShow || act.verb == verbCaution || act.verb == verbShop ||
		act.verb == verbPower || act.verb == verbPieces || act.verb == verbReview || act.verb == verbErase
}

func commandFor(name string) (Command, error) {
	first, rest, _ := strings.Cut(name, " ")
	cmd, ok := findCommand(first)
	if ok && len(cmd.Subs) > 0 {
		cmd, ok = findSub(cmd, rest)
	} else if rest != "" {
		ok = false
	}
	if !ok {
		return Command{}, unknownCommand(name)
	}
	return cmd, nil
}

func findCommand(name string) (Command, bool) { return named(Commands(), name) }

func findSub(c Command, name string) (Command, bool) { return named(c.Subs, name) }

func named(all []Command, name string) (Command, bool) {
	for _, c := range all {
		if c.Name == name {
			return c, true
		}
	}
	return Command{}, false
}

func subNames(c Command) []string {
	var names []string
	for _, s := range c.Subs {
		names = append(names, s.Name)
	}
	return names
}

func (c Command) option(name string) (Option, bool) {
	for _, o := range c.Options {
		if o.Name == name {
			return o, true
		}
	}
	return Option{}, false
}

// example is one right way to type the command.
func (c Command) example(name string) string {
	if c.Example != "" {
		return c.Example
	}
	return "/" + name
}

// check refuses options that the command does not have, values that are none of
// the fixed ones, and a required option left out, before anything is read.
func (c Command) check(name string, options map[string]string) error {
	for key := range options {
		if _, ok := c.option(key); !ok {
			return unknownOption(name, c, key)
		}
	}
	for _, o := range c.Options {
		v, given := options[o.Name]
		switch {
		case o.Required && strings.TrimSpace(v) == "":
			return &UserError{Option: o.Name, Message: fmt.Sprintf("/%s needs %s: %s.", name, o.Name, lowerFirst(o.Summary)), Hint: c.example(name)}
		case !given:
			continue
		case o.Kind == YesNo && v != "yes" && v != "no":
			return &UserError{Option: o.Name, Message: fmt.Sprintf("%s is yes or no, not %q.", o.Name, clip(v, 30)), Hint: o.Name + ":yes"}
		case len(o.Choices) > 0 && !isChoice(o.Choices, v):
			var all []string
			for _, ch := range o.Choices {
				all = append(all, ch.Value)
			}
			return &UserError{Option: o.Name, Message: fmt.Sprintf("%s is one of %s, not %q.", o.Name, strings.Join(all, ", "), clip(v, 30)), Hint: o.Name + ":" + all[0]}
		}
	}
	return nil
}

func isChoice(all []Choice, v string) bool {
	for _, c := range all {
		if c.Value == v {
			return true
		}
	}
	return false
}

func lowerFirst(s string) string {
	if s == "" {
		return s
	}
	return strings.ToLower(s[:1]) + s[1:]
}

// session is one request with its shop and member loaded.
type session struct {
	context.Context
	app        *App
	caller     Caller
	shop       storage.Shop
	member     storage.Member
	instructor bool
	style      solver.Style // as the member writes
	zone       *time.Location
	named      map[string]string // roles and channels among the options: their names by key
}

type args = map[string]string

// Names are cut at these limits, stated where one is refused.
const (
	maxName = 40  // of sets, saws and members
	maxNote = 200 // of a test cut
)

func (a *App) open(ctx context.Context, c Caller) (*session, error) {
	shop, err := a.shopOf(ctx, c)
	if err != nil {
		return nil, err
	}
	member, err := a.Store.EnsureMember(ctx, shop.ID, c.MemberKey, clip(c.MemberName, maxName))
	if err != nil {
		return nil, fmt.Errorf("load the member: %w", err)
	}
	s := &session{Context: ctx, app: a, caller: c, shop: shop, member: member, zone: shop.Settings.Location()}
	s.instructor = c.Admin
	for _, r := range c.Roles {
		s.instructor = s.instructor || r != "" && r == shop.Settings.InstructorRole
	}
	s.style = solver.Style{Unit: shop.Settings.Unit}
	if member.Style != nil {
		s.style = *member.Style
	}
	return s, nil
}

// noteSeen notes the day of a command, once a day.
func (s *session) noteSeen() error {
	day := storage.DayOf(s.caller.At.UTC())
	if day <= s.member.Seen {
		return nil
	}
	return s.app.Store.SawMember(s, s.shop.ID, s.member.ID, day)
}

// startingShop is what a new shop has, so that its first question gets an answer
// at once. The parts are nominal, in common use [cp].
func startingShop() storage.Start {
	return storage.Start{
		Settings: storage.Settings{Unit: solver.InchUnit, Grades: solver.DefaultGrades()},
		Sets: []storage.Set{
			{Name: "Starter inch set", Parts: solver.GenericInchSet(), Generic: true},
			{Name: "Starter metric set", Parts: solver.GenericMetricSet(), Generic: true},
			{Name: "Plain blade", Parts: solver.GenericBlade(), Generic: true},
		},
		Saws: []storage.Saw{{Name: "Starter saw", Saw: solver.GenericInchSaw(), Generic: true}},
	}
}

// needInstructor refuses what only an instructor may do.
func (s *session) needInstructor(what string) error {
	if s.instructor {
		return nil
	}
	return &UserError{Message: what + " is for instructors.", Hint: s.whoCan("Ask your instructor or the server's administrator to do it.")}
}

// whoCan is the hint where a right is lacking: in a direct message, which tells no
// roles, the asker may have it after all.
func (s *session) whoCan(ask string) string {
	if s.caller.ShopKey != "" {
		return ask
	}
	return ask + " If you are an instructor, use the shop's own channel: a direct message shows me no roles."
}

func isNotFound(err error) bool { return errors.Is(err, storage.ErrNotFound) }
