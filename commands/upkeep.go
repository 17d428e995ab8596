package commands

import (
	"context"
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// upkeepStore keeps what was done to sets and saws between cuts.
type upkeepStore interface {
	LogUpkeep(ctx context.Context, shopID int64, u storage.Upkeep, learn func(b solver.Belief, logID int64) solver.Belief) error
	Relearn(ctx context.Context, version int, replay func([]storage.Logged) solver.Belief) (int, error)
}

func setUpkeep(needed Option) Command {
	return Command{
		Name: "upkeep", Summary: "Sharpened, replaced, doubted: what makes the learned less sure", Example: `/set upkeep set:"Blue case" what:sharpened`,
		Options: []Option{
			needed,
			{Name: "what", Summary: "What was done, or what you believe", Required: true, Choices: []Choice{
				{"sharpened: the pair may cut narrower", string(solver.Sharpened)},
				{"replaced: a piece is another one now", string(solver.Replaced)},
				{"doubted: it does not cut as it did", string(solver.Doubted)},
				{"forgotten: begin anew with this set", string(solver.Forgotten)},
			}},
			{Name: "piece", Summary: "Which piece: pair, chipper 1/8", complete: completePieces},
		},
		run: runUpkeep,
	}
}

func runUpkeep(s *session, a args) (Reply, error) {
	if err := s.needInstructor("The upkeep of a set"); err != nil {
		return Reply{}, err
	}
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	u := storage.Upkeep{SetID: set.ID, MemberID: s.member.ID, At: s.caller.At, Upkeep: solver.Upkeep{Kind: solver.UpkeepKind(a["what"])}}
	if a["piece"] != "" {
		kind, nominal, err := pieceNamed(set.Parts, a["piece"])
		if err != nil {
			return Reply{}, err
		}
		if kind == "shim" {
			return Reply{}, &UserError{Option: "piece", Message: "Nothing is learned of single shims, so there is nothing to forget.", Hint: `piece:"chipper 1/8"`}
		}
		if kind == "chipper" {
			u.Upkeep.Chipper = nominal
		}
	}
	if err := s.app.Store.LogUpkeep(s, s.shop.ID, u, func(b solver.Belief, logID int64) solver.Belief {
		b, _ = b.Observe(upkeepEvidence(u, logID))
		return b
	}); err != nil {
		return Reply{}, err
	}
	text := []string{
		fmt.Sprintf("%s: %s, noted in the log.", set.Name, u.Upkeep.Kind),
		"What was learned of it is less certain now; the next test cuts make it sure again.",
	}
	if u.Upkeep.Kind == solver.Replaced {
		if err := s.forgetMeasured(set.ID, u.Upkeep.Chipper); err != nil {
			return Reply{}, err
		}
		text = append(text, fmt.Sprintf("It counts with its nominal size until the new one is measured: /set change set:%q enters it.", set.Name))
	}
	return Reply{Text: lines(append(text, fmt.Sprintf("/set learned set:%q shows where it stands.", set.Name))...)}, nil
}

// forgetMeasured drops the measured size of a set's pair, for 0, or of its chippers
// of a nominal size: it was that of the piece that was replaced.
func (s *session) forgetMeasured(setID int64, chipper solver.Length) error {
	_, err := s.app.Store.UpdateSet(s, s.shop.ID, setID, func(x *storage.Set) error {
		if chipper == 0 {
			x.Parts.Outer.Measured = 0
		}
		for i := range x.Parts.Chippers {
			if c := &x.Parts.Chippers[i]; c.Nominal == chipper {
				c.Measured = 0
			}
		}
		return nil
	})
	return err
}

// upkeepEvidence is an entry of upkeep as the belief takes it.
func upkeepEvidence(u storage.Upkeep, logID int64) solver.Evidence {
	e := solver.Evidence{CutID: logID, Upkeep: u.Upkeep}
	if u.SetID > 0 {
		e.SetKey = key(u.SetID)
	}
	if u.SawID > 0 {
		e.SawKey = key(u.SawID)
	}
	return e
}

// Relearn makes every belief anew, from its log, that an older version of the
// model wrote; to be called once before the first request.
func (a *App) Relearn(ctx context.Context) error {
	_, err := a.Store.Relearn(ctx, solver.BeliefVersion, relearn)
	return err
}
