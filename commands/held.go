package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// permits are what decides whether a setup may be loaded without a release: the
// same for whoever looks.
type permits struct {
	checkOff bool // is needed here
	today    storage.Day
	members  map[int64]storage.Member
	offs     map[[2]int64]storage.CheckOff // by member and saw
	blades   map[int64]bool                // the sets that are ordinary blades
	saws     map[int64]string
}

// permits of all members and saws of the shop.
func (s *session) permits() (permits, error) {
	p := permits{
		checkOff: s.shop.Settings.CheckOff, today: s.today(),
		members: map[int64]storage.Member{}, offs: map[[2]int64]storage.CheckOff{}, blades: map[int64]bool{}, saws: map[int64]string{},
	}
	members, err := s.app.Store.Members(s, s.shop.ID)
	if err != nil {
		return p, err
	}
	for _, m := range members {
		p.members[m.ID] = m
	}
	offs, err := s.app.Store.CheckOffs(s, s.shop.ID)
	if err != nil {
		return p, err
	}
	for _, c := range offs {
		p.offs[[2]int64{c.MemberID, c.SawID}] = c
	}
	sets, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return p, err
	}
	for _, set := range sets {
		p.blades[set.ID] = set.Parts.Kind == solver.Blade
	}
	saws, err := s.app.Store.Saws(s, s.shop.ID)
	for _, saw := range saws {
		p.saws[saw.ID] = saw.Name
	}
	return p, err
}

// permits of the view's own member and saw alone.
func (v *view) permits() (permits, error) {
	s, id := v.s, [2]int64{v.setup.MemberID, v.setup.SawID}
	p := permits{
		checkOff: s.shop.Settings.CheckOff, today: s.today(),
		members: map[int64]storage.Member{s.member.ID: s.member}, blades: map[int64]bool{v.set.ID: v.set.Parts.Kind == solver.Blade},
		saws: map[int64]string{v.saw.ID: v.saw.Name},
	}
	if id[0] != s.member.ID {
		m, err := s.app.Store.Member(s, s.shop.ID, id[0])
		if err != nil {
			return p, err
		}
		p.members[m.ID] = m
	}
	if !p.checkOff {
		return p, nil
	}
	c, err := s.app.Store.CheckOff(s, s.shop.ID, id[0], id[1])
	if isNotFound(err) {
		return p, nil
	}
	p.offs = map[[2]int64]storage.CheckOff{id: c}
	return p, err
}

// held says why a setup may not be loaded or cut before an instructor releases it;
// empty where it may.
func (p permits) held(setup storage.Setup) string {
	if setup.Joint == storage.Gauge || !setup.State.Open() || released(setup) {
		return ""
	}
	switch {
	case p.members[setup.MemberID].Erased:
		return "whose setup it was is no longer known"
	case p.members[setup.MemberID].Minor:
		return "a minor's setup needs a release each time"
	case !p.checkOff || p.blades[setup.SetID]:
		return ""
	}
	c, saw := p.offs[[2]int64{setup.MemberID, setup.SawID}], orRetired(p.saws[setup.SawID])
	switch {
	case !c.Granted:
		return "not checked off on " + saw
	case !c.Valid(p.today):
		return fmt.Sprintf("the check-off on %s ended on %s", saw, c.Until)
	}
	return ""
}

// released says whether an instructor has released a setup since it was last sent
// back or taken down.
func released(setup storage.Setup) bool {
	ok := false
	for _, m := range setup.Moves {
		switch m.Deed {
		case storage.Releasing:
			ok = true
		case storage.SendBack, storage.TakeDown:
			ok = false
		}
	}
	return ok
}

// heldWord is the line of a setup that is shown but not released; empty for one
// that may be loaded. In doubt it is not released.
func (v *view) heldWord() string {
	if v.held != nil {
		return *v.held
	}
	word, why := "", "I cannot tell who is checked off"
	if p, err := v.permits(); err == nil {
		why = p.held(v.setup)
	}
	if why != "" {
		word = v.s.whoCan("Not released: ask your instructor before you load or cut it (" + why + ").")
	}
	v.held = &word
	return word
}

// stateWord is what a list says of where a setup stands.
func (p permits) stateWord(setup storage.Setup) string {
	if p.held(setup) != "" {
		return string(setup.State) + ", not released"
	}
	return string(setup.State)
}

// releaseOwn logs that an instructor released the setup that they have just made,
// where a member's would wait for it: so it shows as released to everyone.
func (v *view) releaseOwn() error {
	if !v.s.instructor || v.heldWord() == "" {
		return nil
	}
	setup, err := v.s.app.Store.UpdateSetup(v.s, v.s.shop.ID, v.setup.No, func(setup *storage.Setup) error {
		return v.s.move(setup, storage.Releasing, storage.Planned, "")
	})
	if err != nil {
		return err
	}
	v.setup, v.held = setup, nil
	return nil
}

// made is the reply to a setup that was made just now.
func (v *view) made(reply func() Reply) (Reply, error) {
	if err := v.releaseOwn(); err != nil {
		return Reply{}, err
	}
	return v.withCautions(reply())
}
