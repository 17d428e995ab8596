package solver

import (
	"encoding/json"
	"math"
	"testing"

	"github.com/google/go-cmp/cmp"
)

// bladeCut is a measured groove of an ordinary blade.
func bladeCut(id int64, groove float64) Evidence {
	set := GenericBlade()
	return Evidence{
		CutID: id, SetKey: "blade", SawKey: "saw", Set: set,
		Stack:  Stack{Outer: set.Outer.Part(), Gaps: [][]Part{nil}},
		Groove: InchesFloat(groove), Grades: DefaultGrades(),
	}
}

// Practice case P06: kerf 0.125 nominal, three grooves of 0.1406. With the prior
// SD 0.004, scatter 0.0015 and caliper 0.001 the closed form is
// 0.0156 * 16/(16 + (2.25+1)/3) = 0.0146 +- sqrt(16*1.083/17.083) = 0.0010.
// The scatter being unknown too, the belief may be a little wider than that.
func TestKerfWiderThanTooth(t *testing.T) {
	var b Belief
	for id := range int64(3) {
		var v Verdict
		b, v = b.Observe(bladeCut(id+1, 0.1406))
		if v.Fate != Counted {
			t.Errorf("cut %d: %s, want counted", id+1, v.Fate)
		}
	}
	m := b.Model("blade", GenericBlade(), "saw")
	mean, variance := m.Offset(nil)
	if math.Abs(mean-0.0146) > 0.0015 || math.Sqrt(variance) > 0.0015 || m.Cuts != 3 {
		t.Errorf("offset %.4f +- %.4f from %d cuts, want 0.0146 +- 0.0010 from 3", mean, math.Sqrt(variance), m.Cuts)
	}
	t.Logf("offset %+.5f +- %.5f, scatter %.5f", mean, math.Sqrt(variance), m.Scatter)
}

func TestPriorIsTheIssues(t *testing.T) {
	set := GenericInchSet()
	set.Chippers[1].Measured = set.Chippers[1].Nominal + Mil
	measured := set
	measured.Outer.Measured = measured.Outer.Nominal
	for _, s := range []Set{set, measured, GenericMetricSet(), GenericBlade()} {
		got, want := Belief{}.Model("a", s, "b"), PriorModel(s)
		if diff := cmp.Diff(want, got, cmp.Comparer(func(a, b float64) bool { return math.Abs(a-b) < 1e-15 })); diff != "" {
			t.Error(diff)
		}
	}
}

func TestBeliefComesBackFromJSON(t *testing.T) {
	b := Replay([]Evidence{bladeCut(1, 0.127), bladeCut(2, 0.9), bladeCut(3, 0.1283)})
	if len(b.Parked) != 1 {
		t.Fatal("the groove of 0.9 in should be parked")
	}
	text, err := json.Marshal(b)
	if err != nil {
		t.Fatal(err)
	}
	var back Belief
	if err := json.Unmarshal(text, &back); err != nil {
		t.Fatal(err)
	}
	if diff := cmp.Diff(b, back); diff != "" {
		t.Error(diff)
	}
}
