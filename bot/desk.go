package bot

import (
	"context"
	"crypto/rand"
	"encoding/hex"
	"errors"
	"fmt"
	"log/slog"
	"runtime/debug"
	"sync"
	"sync/atomic"
	"time"

	"golang.org/x/sync/semaphore"

	"shimwright/commands"
)

// What the bot says for itself. Nothing of it depends on who asked.
const (
	sayBusy       = "The shop is busy and that one did not get through. Send it again in a few seconds; if that goes on, show the instructor the reference %s."
	saySlow       = "That is more than one member can send at once. Wait a few seconds and send it again."
	sayRestarting = "The bot is restarting. Send that again in a minute."
	sayUnknown    = "That control is not one of this bot's. Start again from a command; /help lists them."
	sayApart      = "The answer is for whoever asked, and only they see it."
	sayLost       = "The answer is for whoever asked, and did not get through to them. Send it again."
	sayFault      = "That did not work, and the fault is not yours. Look at /setups before sending it again; if it fails twice, show the instructor the reference %s."
)

// Outcomes of an interaction, as counted.
const (
	outAnswered    = "answered"
	outRefused     = "refused" // input that could not be used
	outFault       = "fault"
	outPanic       = "panic"
	outBusy        = "busy"
	outSlowed      = "slowed"
	outExpired     = "expired"
	outElsewhere   = "elsewhere" // another process answered it
	outUndelivered = "undelivered"
	outIgnored     = "ignored"
	outRepeated    = "repeated" // delivered to us twice
)

// desk takes interactions and sees to it that each gets one answer.
type desk struct {
	cfg     Config
	rest    *rest
	metrics *metrics
	known   map[string]bool // commands by name

	workers    *semaphore.Weighted // handlers at once
	completers *semaphore.Weighted
	room       chan struct{} // interactions inside
	apologies  chan struct{} // apologies under way to those who did not get in
	flood      *flood
	typing     *flood // completions come with every key
	seen       seen
	servers    *servers
	running    context.Context // of every handler
	halt       context.CancelFunc
	stopping   atomic.Bool
	mu         sync.Mutex // guards closed against inside.Wait
	closed     bool
	inside     sync.WaitGroup
}

func newDesk(cfg Config, r *rest, m *metrics) *desk {
	d := &desk{
		cfg: cfg, rest: r, metrics: m,
		known:      map[string]bool{},
		workers:    semaphore.NewWeighted(int64(cfg.pace.workers)),
		completers: semaphore.NewWeighted(int64(cfg.pace.workers)),
		room:       make(chan struct{}, cfg.pace.workers+cfg.pace.queue),
		apologies:  make(chan struct{}, 256),
		flood:      newFlood(cfg.pace.burst, cfg.pace.refill, cfg.pace.slow),
		typing:     newFlood(8*cfg.pace.burst, 8*cfg.pace.refill, cfg.pace.slow),
		servers:    newServers(cfg, r),
	}
	for _, c := range cfg.Commands {
		d.known[c.Name] = true
		for _, sub := range c.Subs {
			d.known[c.Name+" "+sub.Name] = true
		}
	}
	d.running, d.halt = context.WithCancel(context.Background())
	return d
}

// drain waits until everyone inside has an answer, or for as long as is set, and
// takes nobody in any more.
func (d *desk) drain() {
	d.stopping.Store(true)
	d.mu.Lock()
	d.closed = true
	d.mu.Unlock()
	done := make(chan struct{})
	go func() {
		d.inside.Wait()
		close(done)
	}()
	select {
	case <-done:
		d.halt()
	case <-time.After(d.cfg.pace.drain):
		d.cfg.Log.Error("handlers were still busy at shutdown and are cut off")
		d.halt()
		select { // those that listen get to say so
		case <-done:
		case <-time.After(time.Second):
		}
	}
}

// take handles one interaction as Discord sent it. It returns at once, except
// when even apologies pile up; false says that nothing will answer it.
func (d *desk) take(raw []byte, reply *inline) bool {
	log := d.cfg.Log
	in, err := decode(raw)
	if err != nil {
		log.Warn("an interaction cannot be read", "error", err)
		d.metrics.count("unknown", outIgnored)
		return false
	}
	in.arrived = time.Now()
	if in.Type < inCommand || in.Type > inModal {
		log.Warn("an interaction of a kind without use for us", "type", in.Type)
		d.metrics.count("unknown", outIgnored)
		return false
	}
	// After a resume Discord replays what it forgot long ago.
	if age := d.rest.road.discordNow().Sub(in.created()); age > d.cfg.pace.window {
		log.Info("an interaction came too late to answer", "interaction", in.ID, "age", age.Round(time.Millisecond).String())
		d.metrics.count("unknown", outExpired)
		return false
	}
	if d.seen.again(in.ID) {
		d.metrics.count("unknown", outRepeated)
		return false
	}
	d.mu.Lock()
	defer d.mu.Unlock()
	if d.closed {
		return false
	}
	v := &visit{desk: d, in: in, log: log.With("interaction", in.ID), out: &delivery{
		rest: d.rest, in: in, lane: newLane(), inline: reply,
		until: in.arrived.Add(d.cfg.pace.window), dies: in.arrived.Add(d.cfg.pace.token),
	}}
	select {
	case d.room <- struct{}{}:
		d.inside.Add(1)
		go func() {
			defer d.inside.Done()
			defer func() { <-d.room }()
			defer v.survive()
			v.answer()
		}()
	default:
		d.apologies <- struct{}{}
		d.inside.Add(1)
		go func() {
			defer d.inside.Done()
			defer func() { <-d.apologies }()
			defer v.survive()
			v.label, v.completing = "unknown", in.Type == inCompletion
			ref := reference()
			v.log.Error("no room for an interaction", "ref", ref, "inside", cap(d.room))
			v.say(fmt.Sprintf(sayBusy, ref), outBusy)
		}()
	}
	return true
}

// visit is one interaction on its way through the desk.
type visit struct {
	desk       *desk
	in         *interaction
	out        *delivery
	log        *slog.Logger
	label      string // of the command, for the counters
	completing bool
	private    bool // how to defer
}

// answer finds out what is asked and gets it done.
func (v *visit) answer() {
	d, in, now := v.desk, v.in, v.desk.cfg.Now()
	v.label, v.completing = "unknown", in.Type == inCompletion
	from, err := in.from()
	if err != nil {
		v.strange(err)
		return
	}
	limit := d.flood
	if v.completing {
		limit = d.typing
	}
	wait, ok := limit.take(from.ID, now)
	if !ok {
		v.say(saySlow, outSlowed)
		return
	}
	if d.stopping.Load() {
		v.say(sayRestarting, outBusy)
		return
	}
	switch in.Type {
	case inCommand, inCompletion:
		call, focused, err := in.call(now)
		if d.known[call.Name] {
			v.label = call.Name
		}
		v.private = v.privateCommand(call.Name)
		switch {
		case err != nil && v.completing:
			v.complete(nil)
		case err != nil:
			v.strange(err)
		case v.completing:
			v.label = "completion of " + v.label
			v.complete(func(ctx context.Context) ([]commands.Choice, error) {
				call.ShopName = d.shopName(call.ShopKey, 0)
				return d.cfg.App.Complete(ctx, call, focused)
			})
		default:
			v.run(wait, func(ctx context.Context) (commands.Reply, error) {
				call.ShopName = d.shopName(call.ShopKey, d.cfg.pace.nameWait)
				return d.cfg.App.Run(ctx, call)
			})
		}
	case inComponent, inModal:
		v.label = "button"
		press, err := in.press(now)
		if err != nil {
			v.strange(err)
			return
		}
		if in.Type == inModal {
			v.label = "form"
		} else if form, ok := d.cfg.FormFor(press.ID); ok {
			v.label = "opening a form"
			v.first(callback{Type: cbModal, Data: renderForm(press.ID, form)}, outAnswered)
			return
		}
		v.private = d.cfg.PrivatePress(press.ID)
		v.run(wait, func(ctx context.Context) (commands.Reply, error) {
			press.ShopName = d.shopName(press.ShopKey, d.cfg.pace.nameWait)
			return d.cfg.App.Press(ctx, press)
		})
	}
}

// shopName is what a server is called. Only those inside may ask.
func (d *desk) shopName(id string, wait time.Duration) string {
	return d.servers.name(d.running, id, wait, func(ask func()) { d.inside.Go(ask) })
}

func (v *visit) privateCommand(name string) bool {
	for _, c := range v.desk.cfg.Commands {
		if c.Name == name {
			return c.Private
		}
		for _, sub := range c.Subs {
			if c.Name+" "+sub.Name == name {
				return c.Private || sub.Private
			}
		}
	}
	return true
}

// result is what a handler came to.
type result struct {
	reply rendered
	err   error
}

// panicked is a handler's panic as an error.
type panicked struct {
	value any
	stack []byte
}

func (p *panicked) Error() string { return fmt.Sprintf("panic: %v", p.value) }

// run calls a handler, defers where it takes long, and delivers what it says.
func (v *visit) run(wait time.Duration, handler func(context.Context) (commands.Reply, error)) {
	d := v.desk
	ctx, cancel := context.WithTimeout(d.running, d.cfg.pace.handler)
	defer cancel()
	done := make(chan result, 1)
	d.inside.Add(1) // we are inside, so nobody waits on zero
	go func() {
		defer d.inside.Done()
		var r result
		defer func() { done <- r }()
		defer func() {
			if p := recover(); p != nil {
				r.err = &panicked{value: p, stack: debug.Stack()}
			}
		}()
		if r.err = sleep(ctx, wait); r.err != nil {
			return
		}
		if r.err = d.workers.Acquire(ctx, 1); r.err != nil {
			return
		}
		defer d.workers.Release(1)
		var reply commands.Reply
		if reply, r.err = handler(ctx); r.err == nil {
			r.reply = render(reply, d.cfg.Draw, v.log)
		}
	}()

	slow := time.NewTimer(time.Until(v.in.arrived.Add(d.cfg.pace.deferAfter)))
	defer slow.Stop()
	select {
	case r := <-done:
		v.finish(r)
		return
	case <-slow.C:
	}
	if !v.postpone(cbDefer) {
		return
	}
	d.metrics.deferred.Inc()
	select {
	case r := <-done:
		v.fill(r)
	case <-ctx.Done(): // a handler that does not listen must not keep the member waiting
		select {
		case r := <-done:
			v.fill(r)
		case <-time.After(500 * time.Millisecond):
			v.fill(result{err: ctx.Err()})
		}
	}
}

// finish answers at once.
func (v *visit) finish(r result) {
	if r.err != nil {
		v.refuse(r.err)
		return
	}
	cb := callback{Type: cbMessage, Data: r.reply.first, files: r.reply.first.files}
	if v.mayReplace(r.reply) {
		r.reply.first.Flags = 0 // the message keeps its own
		cb.Type, cb.Data = cbUpdate, r.reply.first
	}
	if v.out.inline != nil && len(cb.files) > 0 { // a response has no room for files
		v.private = r.reply.private
		later := cbDefer
		if cb.Type == cbUpdate {
			later = cbDeferUpdate
		}
		if v.postpone(later) {
			v.fill(r)
		}
		return
	}
	if v.first(cb, outAnswered) {
		v.follow(r.reply.rest, r.reply.private, once)
		v.follow(r.reply.aside, true, again)
	}
}

// mayReplace says whether the answer may take the place of the message with the
// button: never a private answer that of a public one.
func (v *visit) mayReplace(r rendered) bool {
	return r.replace && v.in.Message != nil && (!r.private || v.in.Message.Flags&flagEphemeral != 0)
}

// fill puts the answer where the deferral stands. How private that is was settled
// by the deferral; an answer that turns out to be the asker's alone goes into a
// message of its own behind it.
func (v *visit) fill(r result) {
	if err := v.out.unfilled(v.desk.running); err != nil {
		v.close(err, outUndelivered)
		return
	}
	out := outAnswered
	m, rest, private := r.reply.first, r.reply.rest, r.reply.private
	if r.err != nil {
		var text string
		text, out = v.blame(r.err)
		m, rest, private = plain(text, true), nil, out == outRefused
	}
	if private && !v.private {
		err := v.apart(m)
		v.close(err, out)
		if err == nil {
			v.follow(rest, true, once)
		}
		if err == nil && r.err == nil {
			v.follow(r.reply.aside, true, again)
		}
		return
	}
	err := v.out.edit(v.desk.running, m)
	if errors.Is(err, errRefused) {
		var text string
		text, out = v.blame(err)
		err = v.out.edit(v.desk.running, plain(text, v.private))
	}
	v.close(err, out)
	if err == nil {
		v.follow(rest, v.private, once)
	}
	if err == nil && r.err == nil {
		v.follow(r.reply.aside, true, again)
	}
}

// apart ends a public deferral in a word without personal data and sends the
// answer to the asker alone. In this order: a message that follows a deferral
// with nothing in it takes its place, and its publicity.
func (v *visit) apart(m message) error {
	if err := v.out.edit(v.desk.running, plain(sayApart, false)); err != nil {
		return err
	}
	m.Flags = flagEphemeral
	if err := v.out.follow(v.desk.running, m, once); err != nil {
		return errors.Join(err, v.out.edit(v.desk.running, plain(sayLost, false)))
	}
	return nil
}

// How often a further message is sent that may or may not have arrived.
const (
	once  = 0 // part of an answer: it must not stand there twice
	again = 3 // cautions: better twice than not at all
)

// follow sends further messages, as far as it gets.
func (v *visit) follow(parts []string, private bool, retries int) {
	for _, p := range parts {
		if err := v.out.follow(v.desk.running, plain(p, private), retries); err != nil {
			v.log.Error("the rest of an answer is lost", "command", v.label, "error", err)
			return
		}
	}
}

// postpone defers; false says that there is nothing left to answer.
func (v *visit) postpone(kind int) bool {
	cb := callback{Type: kind}
	if kind == cbDefer && v.private {
		cb.Data = deferral{Flags: flagEphemeral}
	}
	if err := v.out.callback(v.desk.running, cb); err != nil {
		v.close(err, outUndelivered)
		return false
	}
	v.out.blank = kind == cbDefer
	v.desk.metrics.answered(v.in.arrived)
	return true
}

// strange answers what could not be read: a kind that Discord invented since, or
// an option that nobody may choose.
func (v *visit) strange(err error) {
	var user *commands.UserError
	if errors.As(err, &user) {
		v.refuse(err)
		return
	}
	v.log.Warn("an interaction without use for us", "error", err)
	v.say(sayUnknown, outIgnored)
}

// refuse answers privately that something could not be used, or that it failed.
func (v *visit) refuse(err error) {
	text, out := v.blame(err)
	v.say(text, out)
}

// blame finds the words for an error. A fault gets a reference that the log
// repeats.
func (v *visit) blame(err error) (text, out string) {
	var user *commands.UserError
	if errors.As(err, &user) {
		return refusal(user), outRefused
	}
	ref := reference()
	var p *panicked
	if errors.As(err, &p) {
		v.log.Error("a handler panicked", "ref", ref, "command", v.label, "panic", fmt.Sprint(p.value), "stack", string(p.stack))
		return fmt.Sprintf(sayFault, ref), outPanic
	}
	v.log.Error("an interaction failed", "ref", ref, "command", v.label, "error", err)
	return fmt.Sprintf(sayFault, ref), outFault
}

func reference() string {
	b := make([]byte, 4)
	_, _ = rand.Read(b) // never fails
	return hex.EncodeToString(b)
}

// say answers privately in our own words; what is being typed gets no choices.
func (v *visit) say(text, out string) {
	if v.completing {
		v.first(callback{Type: cbCompletions, Data: renderChoices(nil)}, out)
		return
	}
	v.first(callback{Type: cbMessage, Data: plain(text, true)}, out)
}

// first sends the first answer and counts what came of it. It says whether that
// very answer arrived; where Discord refuses it, an apology goes out instead.
func (v *visit) first(cb callback, out string) bool {
	err := v.out.callback(v.desk.running, cb)
	whole := err == nil
	if errors.Is(err, errRefused) && !v.completing {
		var text string
		text, out = v.blame(err)
		err = v.out.callback(v.desk.running, callback{Type: cbMessage, Data: plain(text, true)})
	}
	if err == nil {
		v.desk.metrics.answered(v.in.arrived)
	}
	v.close(err, out)
	return whole
}

// close counts an interaction, once.
func (v *visit) close(err error, out string) {
	switch {
	case err == nil:
	case errors.Is(err, errExpired):
		out = outExpired
	case errors.Is(err, errElsewhere):
		out = outElsewhere
	default:
		out = outUndelivered
	}
	if err != nil {
		v.log.Error("an answer did not arrive", "command", v.label, "error", err)
	}
	v.desk.metrics.count(v.label, out)
}

// complete answers what is being typed; too slow an answer is none.
func (v *visit) complete(ask func(context.Context) ([]commands.Choice, error)) {
	d := v.desk
	if ask == nil {
		v.say("", outIgnored)
		return
	}
	ctx, cancel := context.WithDeadline(d.running, v.in.arrived.Add(d.cfg.pace.completeIn))
	defer cancel()
	done := make(chan []commands.Choice, 1)
	d.inside.Add(1)
	go func() {
		defer d.inside.Done()
		var choices []commands.Choice
		defer func() { done <- choices }()
		defer func() {
			if p := recover(); p != nil {
				v.blame(&panicked{value: p, stack: debug.Stack()})
			}
		}()
		if d.completers.Acquire(ctx, 1) != nil {
			return
		}
		defer d.completers.Release(1)
		cs, err := ask(ctx)
		var user *commands.UserError
		if err != nil && !errors.As(err, &user) {
			v.blame(err)
		}
		if err == nil {
			choices = cs
		}
	}()
	var choices []commands.Choice
	select {
	case choices = <-done:
	case <-ctx.Done():
	}
	v.first(callback{Type: cbCompletions, Data: renderChoices(choices)}, outAnswered)
}

// survive keeps a panic of our own from ending the program.
func (v *visit) survive() {
	if p := recover(); p != nil {
		text, _ := v.blame(&panicked{value: p, stack: debug.Stack()})
		v.say(text, outPanic)
	}
}

// seen remembers the ids of the latest interactions, to take each only once.
type seen struct {
	mu       sync.Mutex
	now, old map[string]struct{}
}

func (s *seen) again(id string) bool {
	s.mu.Lock()
	defer s.mu.Unlock()
	if _, ok := s.now[id]; ok {
		return true
	}
	if _, ok := s.old[id]; ok {
		return true
	}
	if s.now == nil || len(s.now) >= 2048 {
		s.old, s.now = s.now, make(map[string]struct{}, 2048)
	}
	s.now[id] = struct{}{}
	return false
}
