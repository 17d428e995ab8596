package commands

import (
	"context"
	"errors"
	"strconv"

	"shimwright/solver"
	"shimwright/storage"
)

// setupStore keeps setups.
type setupStore interface {
	AddSetup(ctx context.Context, s storage.Setup) (storage.Setup, error)
	Setup(ctx context.Context, shopID, no int64) (storage.Setup, error)
	Setups(ctx context.Context, shopID, memberID, before int64, limit int) ([]storage.Setup, error)
	SetupHeads(ctx context.Context, shopID, memberID int64, limit int) ([]storage.SetupHead, error)
	UpdateSetup(ctx context.Context, shopID, no int64, change func(*storage.Setup) error) (storage.Setup, error)
}

func stackCommand() Command {
	return Command{
		Name: "stack", Summary: "The stack, shims and fit for your stock", Example: "/stack stock:23/32",
		Options: append([]Option{
			{Name: "stock", Summary: "Thickness as measured, best four readings: 0.703 0.705 45/64", Required: true},
			{Name: "set", Summary: "Which cutter set; else the one you used last", complete: completeSets},
			{Name: "saw", Summary: "Which saw; else the one you used last", complete: completeSaws},
			{Name: "joint", Summary: "What you cut; else a dado", Choices: []Choice{
				{"dado, across the grain", string(storage.Dado)},
				{"groove, along the grain", string(storage.Groove)},
				{"rabbet, at an edge", string(storage.Rabbet)},
			}},
			{Name: "depth", Summary: "How deep, to have it checked"},
			{Name: "aim", Summary: "Play you want over the thickest reading, instead of the usual"},
			{Name: "width", Summary: "Rabbets only: how wide, if not as wide as the stock is thick"},
			{Name: "pieces", Summary: "How many pieces you cut with it, for the queue", Kind: Whole},
			{Name: "project", Summary: "What it is for, as hall bookcase", complete: completeProjects},
			{Name: "lot", Summary: "Which sheet or delivery the stock is of; /again finds it", complete: completeLots},
		}, intoOptions()...),
		run: runStack,
	}
}

func runStack(s *session, a args) (Reply, error) { return s.planned(a, false) }

// planned makes a setup of the options of /stack, or of /passes, which tells the
// passes in the reply itself.
func (s *session) planned(a args, tellPasses bool) (Reply, error) {
	setup, set, saw, err := s.asked(a)
	if err != nil {
		return Reply{}, err
	}
	return s.answer(setup, set, saw, tellPasses)
}

// answer makes a setup of what was asked, and says which stack to load.
func (s *session) answer(setup storage.Setup, set storage.Set, saw storage.Saw, tellPasses bool) (Reply, error) {
	belief, err := s.app.Store.Belief(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	v := newView(s, setup, set, saw, belief)
	if v.load, err = s.loadAt(saw.ID); err != nil {
		return Reply{}, err
	}
	if saw.Saw.NoStack && !set.Parts.Outer.Out {
		if v, err = v.withBlade(belief); err != nil {
			return Reply{}, err
		}
	}
	if err := v.refuse(); err != nil {
		return Reply{}, err
	}
	v.plan()
	if err := v.tried(); err != nil {
		return Reply{}, err
	}
	if len(v.setup.Stacks) == 0 {
		if v, err = v.withBlade(belief); err != nil {
			return Reply{}, err
		}
	}
	v.tellPasses = tellPasses
	added, err := s.app.Store.AddSetup(s, v.setup)
	if errors.Is(err, storage.ErrConflict) { // the same request, delivered again
		v.setup = added
		return v.reply(), nil
	}
	if err != nil {
		return Reply{}, err
	}
	v.setup = added
	return v.made(v.reply)
}

// asked reads the options of /stack.
func (s *session) asked(a args) (setup storage.Setup, set storage.Set, saw storage.Saw, err error) {
	setup = storage.Setup{
		ShopID: s.shop.ID, MemberID: s.member.ID, Joint: storage.Dado, Grades: s.shop.Settings.Grades,
		State: storage.Planned, Interaction: s.caller.Interaction, Created: s.caller.At,
	}
	if a["joint"] != "" {
		setup.Joint = storage.Joint(a["joint"])
	}
	if setup.Readings, err = s.readings(a, "stock"); err != nil {
		return
	}
	setup.Style = solver.Style{Unit: setup.Readings[0].Unit, Notation: setup.Readings[0].Notation}
	if setup.Depth, err = s.length(a, "depth", depthRange); err != nil {
		return
	}
	if setup.Aim, err = s.length(a, "aim", aimRange); err != nil {
		return
	}
	if setup.Width, err = s.length(a, "width", lapRange); err != nil {
		return
	}
	if setup.Joint != storage.Rabbet && setup.Width.Length > 0 {
		err = &UserError{Option: "width", Message: "Only a rabbet has a width of its own; a " + string(setup.Joint) + " is as wide as the stock needs.", Hint: "Leave width out, or add joint:rabbet."}
		return
	}
	if setup.Joint == storage.Rabbet && a["aim"] != "" {
		err = &UserError{Option: "aim", Message: "A rabbet has no play to aim for.", Hint: "Leave aim out."}
		return
	}
	if setup.Pieces, err = whole(a, "pieces", 1, maxPieces, 0); err != nil {
		return
	}
	if setup.Project, err = label(a, "project"); err != nil {
		return
	}
	if setup.Lot, err = label(a, "lot"); err != nil {
		return
	}
	if err = s.cutInto(&setup, a); err != nil {
		return
	}
	set, saw, err = s.tools(a, setup.Style.Unit)
	if err == nil && a["set"] == "" {
		set, err = s.setOn(saw, set)
	}
	setup.SetID, setup.SawID = set.ID, saw.ID
	return
}

// tools are the set and the saw: those named, else the member's last, else the
// shop's, in the unit that was typed.
func (s *session) tools(a args, unit solver.Unit) (set storage.Set, saw storage.Saw, err error) {
	mine, err := s.app.Store.SetupHeads(s, s.shop.ID, s.member.ID, recent)
	if err != nil {
		return
	}
	sets, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return
	}
	saws, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return
	}
	if a["set"] != "" {
		set, err = s.setNamed(a["set"])
	} else {
		set, err = s.usual(sets, mine, unit)
	}
	if err != nil {
		return
	}
	if a["saw"] != "" {
		saw, err = s.sawNamed(a["saw"])
		return
	}
	ids := []int64{s.shop.Settings.SawID}
	if len(mine) > 0 {
		ids = []int64{mine[0].SawID, s.shop.Settings.SawID}
	}
	for _, id := range ids {
		for _, w := range saws {
			if w.ID == id {
				return set, w, nil
			}
		}
	}
	if len(saws) == 0 {
		return set, saw, &UserError{Option: "saw", Message: "This shop has no saw yet.", Hint: `/saw add name:"East saw" arbor:13/16`}
	}
	return set, saws[0], nil
}

// recent is how many of a member's setups are looked through for the set used last.
const recent = 20

// usual is the stacked set that the member used last, by the member's setups from
// the newest on, else the shop's. An ordinary blade is taken where a groove is too
// narrow for a set, or by name.
func (s *session) usual(sets []storage.Set, mine []storage.SetupHead, unit solver.Unit) (storage.Set, error) {
	stacked := func(set storage.Set) bool { return set.Parts.Kind != solver.Blade }
	for _, setup := range mine {
		for _, set := range sets {
			if set.ID == setup.SetID && stacked(set) {
				return set, nil
			}
		}
	}
	for _, want := range []func(storage.Set) bool{
		func(set storage.Set) bool { return set.ID == s.shop.Settings.SetID && set.Parts.Unit == unit },
		func(set storage.Set) bool { return stacked(set) && set.Parts.Unit == unit },
		func(set storage.Set) bool { return set.ID == s.shop.Settings.SetID },
		stacked,
	} {
		for _, set := range sets {
			if want(set) {
				return set, nil
			}
		}
	}
	return storage.Set{}, &UserError{Option: "set", Message: "This shop has no cutter set yet.", Hint: `/set add name:"Blue case" pair:1/4 chippers:"4 x 1/8, 3/32, 1/16" shims:"2 x 0.004, 2 x 0.010"`}
}

// view is a setup with what is known about it now: all replies about a setup are
// written from one.
type view struct {
	s                  *session
	setup              storage.Setup
	set                storage.Set
	saw                storage.Saw
	model              solver.CutModel
	thickest, thinnest solver.Measure
	window             solver.Window // widths to aim for
	load               *storage.Load // what is on the saw now; nil for its standard blade
	held               *string       // why it is not released, once that was looked up
	answer             solver.Answer // of the search; only where the setup is being planned or explained
	passes             *solver.PassPlan
	instead            string // the set that a blade stands in for, in the first reply
	tellPasses         bool   // in the reply itself
}

func newView(s *session, setup storage.Setup, set storage.Set, saw storage.Saw, belief solver.Belief) *view {
	v := &view{s: s, setup: setup, set: set, saw: saw}
	v.model = belief.Model(key(set.ID), set.Parts, key(saw.ID))
	v.thickest, v.thinnest = readingEnds(setup.Readings)
	v.window = setup.Grades.Window(v.thickest.Length, v.thinnest.Length)
	if setup.Aim.Text != "" {
		v.window = v.window.Shift(v.thickest.Length + setup.Aim.Length - v.window.Mid())
	}
	return v
}

// loadView reads a setup of the shop with all that belongs to it.
func (s *session) loadView(no int64) (*view, error) {
	setup, err := s.app.Store.Setup(s, s.shop.ID, no)
	if isNotFound(err) {
		return nil, noSetup(no)
	}
	if err != nil {
		return nil, err
	}
	return s.viewOf(setup)
}

func (s *session) viewOf(setup storage.Setup) (*view, error) {
	set, err := s.app.Store.SetByID(s, s.shop.ID, setup.SetID)
	if err != nil {
		return nil, err
	}
	saw, err := s.app.Store.SawByID(s, s.shop.ID, setup.SawID)
	if err != nil {
		return nil, err
	}
	belief, err := s.app.Store.Belief(s, s.shop.ID)
	if err != nil {
		return nil, err
	}
	v := newView(s, setup, set, saw, belief)
	v.load, err = s.loadAt(saw.ID)
	return v, err
}

func noSetup(no int64) *UserError {
	return &UserError{Option: "setup", Message: "This shop has no setup " + strconv.FormatInt(no, 10) + ".", Hint: "/setups lists yours; setup:last is your newest."}
}

// key is how the belief knows a set or a saw.
func key(id int64) string { return strconv.FormatInt(id, 10) }

func (v *view) problem() solver.Problem {
	return solver.Problem{Set: v.set.Parts, Saw: v.saw.Saw, Model: v.model, Window: v.window}
}

func (v *view) rabbet() bool { return v.setup.Joint == storage.Rabbet }

// rabbetWidth is how wide the rabbet is to be.
func (v *view) rabbetWidth() solver.Length {
	if v.setup.Width.Length > 0 {
		return v.setup.Width.Length
	}
	return v.thickest.Length
}

// refuse says what set and saw do not allow whatever the stack.
func (v *view) refuse() error {
	if v.set.Parts.Outer.Out {
		return &UserError{Option: "set", Message: v.set.Name + " is out of service: its outer blades are.", Hint: "Take another set, or ask your instructor."}
	}
	bare := solver.Stack{Outer: v.set.Parts.Outer.Part(), Gaps: [][]solver.Part{nil}}
	for _, c := range solver.CheckStack(v.set.Parts, v.saw.Saw, bare) {
		if c.OK {
			continue
		}
		if v.set.Parts.Kind == solver.Blade && c.Code == solver.NoStackCheck {
			continue // an ordinary blade is no stacked set
		}
		hint := "Ask your instructor; the manuals of saw and set decide."
		if c.Code == solver.NoStackCheck {
			hint = "Take a saw that does, or a router. " + hint
		}
		return &UserError{Option: "saw", Message: "Not on this saw: " + v.checkText(c), Hint: hint}
	}
	return nil
}

// plan searches and puts the stack to begin with into the setup, if there is one.
func (v *view) plan() {
	if v.rabbet() {
		if lap, ok := solver.PlanLap(v.set.Parts, v.saw.Saw, v.model, v.rabbetWidth()); ok {
			p := planned(solver.Expect(v.problem(), lap.Stack))
			p.Chance, p.Passes, p.Move = 0, lap.N, lap.Move
			v.setup.Stacks = []storage.PlannedStack{p}
		}
		return
	}
	v.search()
	switch {
	case v.passes != nil:
		v.setup.Stacks = []storage.PlannedStack{plannedPasses(*v.passes)}
	case len(v.answer.Ranked) > 0 && (v.answer.Reached || v.window.Empty()):
		best := v.answer.Ranked[0]
		if v.onWith(best.Stack) {
			best = solver.Expect(v.problem(), v.load.Stack)
		}
		v.setup.Stacks = []storage.PlannedStack{planned(best)}
	}
}

// search asks the solver for stacks, and for passes where one pass does not do.
func (v *view) search() {
	if v.set.Parts.Kind != solver.Blade {
		v.answer = solver.Rank(v.problem(), 3)
	}
	if !v.answer.Reached && !v.window.Empty() {
		if plan, ok := solver.PlanPasses(v.set.Parts, v.saw.Saw, v.model, v.window); ok {
			v.passes = &plan
		}
	}
}

func plannedPasses(p solver.PassPlan) storage.PlannedStack {
	return storage.PlannedStack{Stack: p.Stack, Offset: p.Offset, SD: solver.InchesFloat(p.SD), Chance: p.Chance, Passes: p.N, Move: p.Move}
}

func planned(c solver.Candidate) storage.PlannedStack {
	return storage.PlannedStack{Stack: c.Stack, Offset: c.Offset, SD: solver.InchesFloat(c.SD), Chance: c.Chance, Passes: 1}
}

// loaded is the stack that is on the saw now, with what is expected of it by what
// is known now.
func (v *view) loaded() (storage.PlannedStack, bool) {
	if len(v.setup.Stacks) == 0 {
		return storage.PlannedStack{}, false
	}
	return v.expect(v.setup.Stacks[v.setup.Loaded]), true
}

func (v *view) expect(p storage.PlannedStack) storage.PlannedStack {
	return plannedPasses(solver.ExpectPasses(v.problem(), p.Stack, p.Passes, p.Move))
}

// width is what a planned stack is expected to cut, in all its passes.
func width(p storage.PlannedStack) solver.Length {
	return p.Stack.Sum() + p.Offset + solver.Length(p.Passes-1)*p.Move
}

// pressSetup answers the buttons that show or change a setup without a cut.
func pressSetup(s *session, act action) (Reply, error) {
	v, err := s.loadView(act.setup)
	if err != nil {
		return Reply{}, err
	}
	switch act.verb {
	case verbShow:
		v.at(act.revision)
		if r, ok := v.pictureReply(act.arg); ok {
			return r, nil
		}
		text, ok := v.detail(act.arg)
		if !ok {
			return Reply{}, &UserError{Message: "That button is from an older version.", Hint: "/setups shows your setups with fresh buttons."}
		}
		if act.arg == "cautions" {
			err = s.hadCautions()
		}
		return Reply{Text: text, Private: true}, err
	case verbUse:
		return v.use(act)
	}
	return v.reply(), nil
}

// at turns the view to an older stack of the setup, for a button that showed it.
func (v *view) at(revision int) {
	if revision < len(v.setup.Stacks) {
		v.setup.Loaded = revision
	}
}

// use takes another of the stacks that were offered.
func (v *view) use(act action) (Reply, error) {
	v.search()
	n, err := strconv.Atoi(act.arg)
	if err != nil || n < 0 || n >= len(v.answer.Ranked) || v.setup.State != storage.Planned {
		return Reply{}, &UserError{Message: "That choice is no longer open.", Hint: "Ask again with /stack."}
	}
	if v.setup.MemberID != v.s.member.ID && !v.s.instructor {
		return Reply{}, &UserError{Message: "Only the member who asked, or an instructor, changes the stack of this setup.", Hint: "/stack makes one of your own."}
	}
	want := planned(v.answer.Ranked[n])
	if now, ok := v.loaded(); ok && now.Passes == 1 && now.Stack.Equal(want.Stack) { // a second press
		return v.reply(), nil
	}
	v.setup, err = v.s.app.Store.UpdateSetup(v.s, v.s.shop.ID, v.setup.No, func(setup *storage.Setup) error {
		if setup.State != storage.Planned {
			return &UserError{Message: "A test cut was logged meanwhile.", Hint: "/setups shows where it stands."}
		}
		setup.Stacks = append(setup.Stacks, want)
		setup.Loaded = len(setup.Stacks) - 1
		return nil
	})
	if err != nil {
		return Reply{}, err
	}
	return v.reply(), nil
}
