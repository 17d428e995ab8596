package commands

import (
	"shimwright/solver"
	"shimwright/storage"
)

func unitsCommand() Command {
	return Command{
		Name: "units", Summary: "Inches or millimetres for your bare numbers and my replies", Example: "/units unit:mm", Private: true,
		Options: []Option{
			{Name: "unit", Summary: "inches or millimetres", Required: true, Choices: []Choice{{"inches", "in"}, {"millimetres", "mm"}}},
			{Name: "shop", Summary: "Yes to set it for the whole shop (instructors)", Kind: YesNo},
		},
		run: runUnits,
	}
}

func runUnits(s *session, a args) (Reply, error) {
	unit := solver.InchUnit
	if a["unit"] == "mm" {
		unit = solver.MillimetreUnit
	}
	word := map[solver.Unit]string{solver.InchUnit: "inches", solver.MillimetreUnit: "millimetres"}[unit]
	example := map[solver.Unit]string{solver.InchUnit: "0.703 or 23/32", solver.MillimetreUnit: "17.9"}[unit]
	if !yes(a, "shop") {
		_, err := s.app.Store.UpdateMember(s, s.shop.ID, s.member.ID, func(m *storage.Member) error {
			m.Style = &solver.Style{Unit: unit}
			return nil
		})
		return Reply{Private: true, Text: lines("Your bare numbers are "+word+" from now on: "+example+".", "A unit you write out always counts: 17.9mm, 23/32in.")}, err
	}
	if err := s.needInstructor("The shop's unit"); err != nil {
		return Reply{}, err
	}
	if err := s.shopUnit(unit); err != nil {
		return Reply{}, err
	}
	return Reply{Private: true, Text: lines("The shop writes "+word+" from now on; members can choose for themselves with /units.", "The starter saw and the usual set follow, as long as nobody has changed them.")}, nil
}

// shopUnit sets the shop's unit; what is still as it was at the start follows:
// the usual set, and the generic saw, which takes 20 mm in a metric shop.
func (s *session) shopUnit(unit solver.Unit) error {
	sets, err := s.app.Store.Sets(s, s.shop.ID)
	if err != nil {
		return err
	}
	saws, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return err
	}
	for _, w := range saws {
		if !w.Generic {
			continue
		}
		if _, err := s.app.Store.UpdateSaw(s, s.shop.ID, w.ID, func(saw *storage.Saw) error {
			saw.Saw = solver.GenericInchSaw()
			if unit == solver.MillimetreUnit {
				saw.Saw = solver.GenericMetricSaw()
			}
			return nil
		}); err != nil {
			return err
		}
	}
	_, err = s.app.Store.UpdateShop(s, s.shop.ID, func(shop *storage.Shop) error {
		shop.Settings.Unit = unit
		for _, usual := range sets {
			if usual.ID != shop.Settings.SetID || !usual.Generic {
				continue
			}
			for _, set := range sets {
				if set.Generic && set.Parts.Kind == solver.Stacked && set.Parts.Unit == unit {
					shop.Settings.SetID = set.ID
				}
			}
		}
		return nil
	})
	return err
}
