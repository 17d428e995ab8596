package commands

import (
	"fmt"

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
	r.Text = lines(fmt.Sprintf("Cut %d of setup %d: groove %s, play %s. The measurement counts in place of the feel.", cutNo, no, m.Floor, v.fine(m.Floor.Length-setup.TestPiece(m).Mean)), r.Text)
	return r, nil
}
