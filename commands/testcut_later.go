package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// measureLater adds the measured groove to a cut that was logged before, by feel
// or by slips, and learns anew from the whole log in its order.
func (s *session) measureLater(no int64, a args, m storage.Cut) (Reply, error) {
	cutNo, err := whole(a, "cut", 1, 999, 1)
	if err != nil {
		return Reply{}, err
	}
	if m.Floor.Length == 0 {
		return Reply{}, &UserError{Option: "groove", Message: "For an earlier cut, give its groove as measured.", Hint: fmt.Sprintf("/testcut cut:%d groove:0.708", cutNo)}
	}
	v, err := s.loadView(no)
	if err != nil {
		return Reply{}, err
	}
	var measured storage.Cut
	setup, err := s.app.Store.ReviseCuts(s, s.shop.ID, no, func(setup *storage.Setup) error {
		for i := range setup.Cuts {
			c := &setup.Cuts[i]
			if c.No != cutNo || c.Voided {
				continue
			}
			if c.Floor.Length > 0 {
				return &UserError{Option: "cut", Message: fmt.Sprintf("Cut %d has a measured groove already: %s.", cutNo, c.Floor), Hint: "If that one is wrong, void it with /testcut undo and log it anew."}
			}
			c.Floor, c.Mouth = m.Floor, m.Mouth
			if m.Piece.Length > 0 {
				c.Piece = m.Piece
			}
			if m.Depth.Length > 0 && c.Depth.Length == 0 {
				c.Depth = m.Depth
			}
			c.Grade = setup.Grades.Of(c.Floor.Length - setup.TestPiece(*c).Mean)
			if c == lastCut(setup) && c.Grade == solver.Snug && holds(v.load, v.set.ID, setup.Stacks[c.Revision].Stack) {
				setup.Loaded = c.Revision // it is still on, and no change is wanted
			}
			measured = *c
			s.settle(setup, storage.CutLogged, stateAfter(setup))
			return nil
		}
		return &UserError{Option: "cut", Message: fmt.Sprintf("Setup %d has no cut %d that counts.", no, cutNo), Hint: "/setups shows your setups."}
	}, relearn)
	if err != nil {
		return Reply{}, err
	}
	fresh, err := s.viewOf(setup)
	if err != nil {
		return Reply{}, err
	}
	r := fresh.reply()
	text := []string{fmt.Sprintf("Cut %d of setup %d: %s.", cutNo, no, v.outcomeWord(measured))}
	if parallel(measured) {
		text = append(text, "The measurement counts in place of what was told before.")
	} else {
		text = append(text, "Do not shim. "+v.wallsWord(measured))
	}
	r.Text = lines(append(text, r.Text)...)
	return r, nil
}
