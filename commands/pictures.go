package commands

import (
	"fmt"

	"shimwright/commands/drawing"
	"shimwright/solver"
	"shimwright/storage"
)

// stackPicture shows the stack of a setup, its panel in the dado and the fan.
func (v *view) stackPicture() (Picture, bool) {
	p, ok := v.stackScene()
	if !ok {
		return Picture{}, false
	}
	return v.onRequest(picture(fmt.Sprintf("setup-%d", v.setup.No), drawing.Stack(p)), stackShown), true
}

// stackScene is what that picture is drawn from.
func (v *view) stackScene() (drawing.StackPicture, bool) {
	now, ok := v.loaded()
	if !ok || !v.cuttable() || v.setup.Joint == storage.Gauge {
		return drawing.StackPicture{}, false
	}
	p := drawing.StackPicture{
		Title: fmt.Sprintf("Setup %d, %s on %s", v.setup.No, v.set.Name, v.saw.Name), Set: v.set.Parts, Saw: v.saw.Saw,
		Stack: now.Stack, Style: v.setup.Style, Width: width(now), Passes: now.Passes, Move: now.Move,
		Thickest: v.thickest, Thinnest: v.thinnest, Grades: v.setup.Grades,
	}
	if v.rabbet() {
		p.Rabbet = v.rabbetWidth()
	}
	return p, true
}

// fitPicture shows the cuts of a setup against its readings and the snug range.
func (v *view) fitPicture() (Picture, bool) {
	p := drawing.FitPicture{Style: v.setup.Style, Grades: v.setup.Grades, Window: v.window, Readings: v.setup.Readings}
	var all []drawing.FitCut
	for _, c := range v.setup.Cuts {
		if !c.Voided && c.Revision < len(v.setup.Stacks) {
			all = append(all, v.fitCut(c))
		}
	}
	if len(all) == 0 || v.rabbet() || v.window.Empty() {
		return Picture{}, false
	}
	p.Cut, p.Earlier = all[len(all)-1], all[:len(all)-1]
	p.Title = fmt.Sprintf("Setup %d, %s", v.setup.No, p.Cut.Name)
	return v.onRequest(picture(fmt.Sprintf("setup-%d-fit", v.setup.No), drawing.Fit(p)), fitShown), true
}

// fitCut is a logged cut on the line: as measured, else as the stack is expected
// to cut by what is known now.
func (v *view) fitCut(c storage.Cut) drawing.FitCut {
	out := drawing.FitCut{Name: fmt.Sprintf("cut %d", c.No), Width: c.Floor.Length, Measured: c.Floor.Length > 0, Grade: c.Grade}
	if !out.Measured {
		out.Width = width(v.expect(v.setup.Stacks[c.Revision]))
	}
	return out
}

// measuredFit is the picture of stock and a groove that were both measured.
func measuredFit(style solver.Style, grades solver.Grades, window solver.Window, readings []solver.Measure, groove solver.Length, grade solver.Grade) Picture {
	return picture("fit", drawing.Fit(drawing.FitPicture{
		Style: style, Grades: grades, Window: window, Readings: readings,
		Cut: drawing.FitCut{Name: "this groove", Width: groove, Measured: true, Grade: grade},
	}))
}

// What the button of a picture asks for.
const (
	stackShown = "picture"
	fitShown   = "picture-fit"
)

// onRequest keeps a picture back where it is not asked for: ten benches must not
// bury the channel.
func (v *view) onRequest(p Picture, what string) Picture {
	id := action{verb: verbShow, setup: v.setup.No, revision: v.setup.Loaded, arg: what}
	p.Ask = &Action{ID: id.String(), Label: "Picture", Row: 3}
	return p
}

// pictureReply answers such a button, to the asker alone.
func (v *view) pictureReply(what string) (Reply, bool) {
	var pic Picture
	var ok bool
	switch what {
	case stackShown:
		pic, ok = v.stackPicture()
	case fitShown:
		pic, ok = v.fitPicture()
	}
	if !ok {
		return Reply{}, false
	}
	pic.Ask = nil
	return Reply{Private: true, Text: pic.Alt, Pictures: []Picture{pic}}, true
}

func picture(name string, s drawing.Scene) Picture { return Picture{Name: name, Alt: s.Alt, Scene: s} }
