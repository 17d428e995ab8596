package drawing

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"
)

// WeeklyCuts is what the chart of test cuts to the first snug one is made from.
type WeeklyCuts struct {
	Title string // "Evening class, 4 March to 29 April"
	Weeks []Week // oldest first
}

// Week is one week of a class.
type Week struct {
	Label string // short: "4 Mar"
	// Cuts has one entry for each setup that came to a snug cut: which test cut
	// that was, from 1.
	Cuts []int
}

// The most that the chart shows: the latest weeks, and one row for all setups
// that took mostCuts test cuts or more.
const (
	mostWeeks = 10
	mostCuts  = 6
)

// Weekly draws how many test cuts setups took to the first snug one, week by
// week: the number of setups in each disc, and the average above.
func Weekly(p WeeklyCuts) Scene {
	head := page("head")
	const (
		width = ScreenWidth - 2*margin
		left  = margin + 12.0
		row   = 10.0
	)
	y := headline(&head, "Test cuts to the first snug one", p.summary())
	weeks := p.shown()
	v := page("weeks")
	column := (ScreenWidth - margin - left) / float64(max(1, len(weeks)))
	top := y + 16
	v.add(
		Text{X: margin, Y: top - 5, Size: small, Role: Ink, Text: "average"},
		Line{What: "below the averages", X0: margin, Y0: top - 3, X1: margin + width, Y1: top - 3, Role: Quiet, Thick: 0.3},
	)
	rows := p.rows()
	for n := 1; n <= rows; n++ {
		word := strconv.Itoa(n)
		if n == mostCuts {
			word += " up"
		}
		v.add(Text{X: margin, Y: top + row*(float64(n)-0.5) + 1.3, Size: body, Bold: true, Role: Ink, Text: word})
		if n < rows {
			v.add(Line{What: "between " + strconv.Itoa(n) + " and " + strconv.Itoa(n+1), X0: margin, Y0: top + row*float64(n), X1: margin + width, Y1: top + row*float64(n), Role: Inner, Thick: 0.3})
		}
	}
	for i, w := range weeks {
		x := left + column*(float64(i)+0.5)
		if len(w.Cuts) > 0 {
			v.add(Text{X: x, Y: top - 5, Size: body, Bold: true, Anchor: Middle, Role: Measure, Text: one(w.average())})
		}
		for n := 1; n <= rows; n++ {
			if count := w.count(n); count > 0 {
				at := top + row*(float64(n)-0.5)
				r := min(row/2-0.2, column/2-0.4, 2.4+0.35*math.Sqrt(float64(count)))
				v.add(
					Circle{What: fmt.Sprintf("%s, cut %d", w.Label, n), X: x, Y: at, R: r, Fill: Steel, Line: Ink},
					Text{X: x, Y: at + 1.2, Size: small, Bold: true, Anchor: Middle, Role: Ink, Text: strconv.Itoa(count)},
				)
			}
		}
		label := Text{X: x, Y: top + row*float64(rows) + 4.6, Size: small, Anchor: Middle, Role: Ink, Text: w.Label}
		if wide := widthOf(w.Label, small, false); wide > column-0.5 {
			label.Size *= (column - 0.5) / wide
		}
		v.add(label)
	}
	y = top + row*float64(rows) + 4.6
	foot := page("foot")
	y = paragraph(&foot, "A disc's number: setups whose first snug cut was the 1st, 2nd, 3rd test cut and so on. "+p.Title, margin, y+7, width, small, Quiet, false)
	return Scene{Name: "weekly", Alt: clip(p.alt()), Width: ScreenWidth, Height: y + 1, Views: []View{head, v, foot}}
}

func (p WeeklyCuts) shown() []Week { return p.Weeks[max(0, len(p.Weeks)-mostWeeks):] }

func (p WeeklyCuts) rows() int {
	rows := 2
	for _, w := range p.shown() {
		for _, n := range w.Cuts {
			rows = max(rows, min(n, mostCuts))
		}
	}
	return rows
}

// count is how many setups came to it at cut n; the last row has all later ones.
func (w Week) count(n int) int {
	count := 0
	for _, c := range w.Cuts {
		if min(c, mostCuts) == n {
			count++
		}
	}
	return count
}

func (w Week) average() float64 {
	sum := 0
	for _, c := range w.Cuts {
		sum += c
	}
	return float64(sum) / float64(len(w.Cuts))
}

// one has one decimal.
func one(f float64) string { return strconv.FormatFloat(f, 'f', 1, 64) }

// summary is the trend in a sentence.
func (p WeeklyCuts) summary() string {
	weeks := slices.DeleteFunc(slices.Clone(p.shown()), func(w Week) bool { return len(w.Cuts) == 0 })
	switch len(weeks) {
	case 0:
		return "No setup has come to a snug cut yet."
	case 1:
		return fmt.Sprintf("%s: %s on average.", weeks[0].Label, one(weeks[0].average()))
	}
	first, last := weeks[0], weeks[len(weeks)-1]
	return fmt.Sprintf("%s: %s on average; %s: %s.", first.Label, one(first.average()), last.Label, one(last.average()))
}

func (p WeeklyCuts) alt() string {
	out := []string{"Test cuts to the first snug one, by week.", p.summary()}
	for _, w := range p.shown() {
		if len(w.Cuts) == 0 {
			out = append(out, w.Label+": none.")
			continue
		}
		var words []string
		for n := 1; n <= mostCuts; n++ {
			if c := w.count(n); c > 0 {
				words = append(words, fmt.Sprintf("%d at cut %d", c, n))
			}
		}
		out = append(out, fmt.Sprintf("%s, average %s: %s.", w.Label, one(w.average()), strings.Join(words, ", ")))
	}
	return strings.Join(out, " ")
}
