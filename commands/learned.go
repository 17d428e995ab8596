package commands

import (
	"fmt"
	"math"

	"shimwright/solver"
	"shimwright/storage"
)

// showLearned is /set learned: what the test cuts have taught about a set, part
// by part, with the evidence, and what is worth a caliper.
func showLearned(s *session, a args) (Reply, error) {
	set, err := s.setNamed(a["set"])
	if err != nil {
		return Reply{}, err
	}
	saws, err := s.app.Store.Saws(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	belief, err := s.app.Store.Belief(s, s.shop.ID)
	if err != nil {
		return Reply{}, err
	}
	names := map[string]string{}
	var keys []string
	for _, w := range saws {
		names[key(w.ID)] = w.Name
		keys = append(keys, key(w.ID))
	}
	l := belief.Learned(key(set.ID), set.Parts, keys...)
	return Reply{Text: lines(learnedLines(set, l, names)...), Data: learnedOut(set, l)}, nil
}

func learnedLines(set storage.Set, l solver.Learned, saws map[string]string) []string {
	if l.Cuts == 0 {
		return []string{set.Name + ": nothing learned yet, no test cut has been logged.", "Until then every part is taken at its size, give or take what sets usually differ by (an assumption).", measureHint}
	}
	style := solver.Style{Unit: set.Parts.Unit}
	out := []string{fmt.Sprintf("%s, learned from %d test %s:", set.Name, l.Cuts, plural(l.Cuts, "cut", "cuts"))}
	for _, p := range l.Parts {
		if p.Cuts == 0 && !p.Measured {
			continue
		}
		mean := solver.InchesFloat(p.Mean)
		word := "as its size says"
		if mean.Abs() >= solver.Mil/4 {
			word = fmt.Sprintf("%s %s", style.Fine(mean.Abs()), overUnder(mean))
		}
		out = append(out, fmt.Sprintf("%s: %s, give or take %s, from %d %s%s.", capitalised(partWord(set, p, saws)), word, style.FineBare(solver.InchesFloat(p.SD)), p.Cuts, plural(p.Cuts, "cut", "cuts"), measuredWord(p)))
	}
	out = append(out, fmt.Sprintf("From cut to cut it scatters by about %s.", style.Fine(solver.InchesFloat(l.Scatter))))
	if l.Rough {
		out = append(out, "That is more than usual: look for runout, dirt between the plates, a loose nut or a worn piece.")
	}
	if total := math.Abs(l.Parts[0].Mean); solver.InchesFloat(total) >= solver.CheckRunout {
		out = append(out, fmt.Sprintf("The pair is off by %s: check runout and alignment before you trust shims.", style.Fine(solver.InchesFloat(total))))
	}
	if l.Measure >= 0 {
		p := l.Parts[l.Measure]
		where := "caliper on the hub, not across the carbide"
		if p.Kind == solver.PairError {
			where = "both blades together across the outward tips, or a test groove with the pair alone"
		}
		why := "is the least certain part"
		if p.Off {
			why = fmt.Sprintf("seems %s %s", style.Fine(solver.InchesFloat(math.Abs(p.Mean))), overUnder(solver.InchesFloat(p.Mean)))
		}
		out = append(out, fmt.Sprintf("Measure %s: it %s; %s. Then /set change piece:%q measured:...", partWord(set, p, saws), why, where, pieceOption(set, p)))
	}
	return out
}

func overUnder(l solver.Length) string {
	if l < 0 {
		return "under"
	}
	return "over"
}

func measuredWord(p solver.PartEvidence) string {
	if p.Measured {
		return ", measured by the shop"
	}
	return ""
}

func partWord(set storage.Set, p solver.PartEvidence, saws map[string]string) string {
	switch p.Kind {
	case solver.ChipperError:
		return "the " + pieceWord(set.Parts.Unit, p.Nominal) + " chipper"
	case solver.Runout:
		return "runout of " + orRetired(saws[p.Key])
	}
	if set.Parts.Kind == solver.Blade {
		return "the kerf"
	}
	return "the outer pair"
}

func pieceOption(set storage.Set, p solver.PartEvidence) string {
	if p.Kind == solver.ChipperError {
		return "chipper " + pieceWord(set.Parts.Unit, p.Nominal)
	}
	return pieceList(set.Parts)[0]
}

// learnedData is the public JSON form of /set learned; lengths in millimetres.
type learnedData struct {
	Set       string        `json:"set"`
	Cuts      int           `json:"cuts"`
	ScatterMM string        `json:"scatter_mm"`
	Rough     bool          `json:"rough"`
	Parts     []learnedPart `json:"parts"`
}

type learnedPart struct {
	Kind      solver.VarKind `json:"kind"`
	NominalMM string         `json:"nominal_mm"`
	ErrorMM   string         `json:"error_mm"`
	SDMM      string         `json:"sd_mm"`
	Cuts      int            `json:"cuts"`
	Measure   bool           `json:"measure"`
}

func learnedOut(set storage.Set, l solver.Learned) learnedData {
	mm := func(in float64) string { return solver.InchesFloat(in).DecimalMM() }
	d := learnedData{Set: set.Name, Cuts: l.Cuts, ScatterMM: mm(l.Scatter), Rough: l.Rough, Parts: []learnedPart{}}
	for i, p := range l.Parts {
		d.Parts = append(d.Parts, learnedPart{p.Kind, p.Nominal.DecimalMM(), mm(p.Mean), mm(p.SD), p.Cuts, i == l.Measure})
	}
	return d
}
