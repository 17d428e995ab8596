package solver

import (
	"fmt"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"testing"
)

// closestModel is the closest-width problem as an integer program in GNU MathProg,
// for sets whose gaps all have the set's limits (no tooth widths known). Lengths
// are whole numbers of 1e-5 in, so that GLPK's doubles hold them exactly. The
// integers it finds are rounded before they are summed: it takes 1e-5 for zero.
const closestModel = `
param outer; param target; param widest;             # widest: no sum above it
param inGap; param limitChipper; param limitBare;    # of one gap: shims, opening
set C; param chipper{C}; param chippers{C};          # thickness, how many
set S; param shim{S};    param shims{S};
param most := sum{c in C} chippers[c];
set G := 1..most + 1;

var n{c in C} integer >= 0 <= chippers[c];           # chippers loaded
var x{S, G} integer >= 0;                            # shims in a gap
var open{G} binary;                                  # the gap is there
var any binary;                                      # at least one chipper is loaded
var off >= 0;

minimize distance: off;
s.t. over:  off >= outer + sum{c in C} chipper[c] * n[c] + sum{s in S, g in G} shim[s] * x[s,g] - target;
s.t. under: off >= target - outer - sum{c in C} chipper[c] * n[c] - sum{s in S, g in G} shim[s] * x[s,g];
s.t. width: outer + sum{c in C} chipper[c] * n[c] + sum{s in S, g in G} shim[s] * x[s,g] <= widest;
s.t. gaps:  sum{g in G} open[g] <= sum{c in C} n[c] + 1;
s.t. none:  any <= sum{c in C} n[c];
s.t. some:  sum{c in C} n[c] <= most * any;
s.t. owned{s in S}: sum{g in G} x[s,g] <= shims[s];
s.t. count{g in G}: sum{s in S} x[s,g] <= inGap * open[g];
s.t. first: sum{s in S} shim[s] * x[s,1] <= limitBare + (limitChipper - limitBare) * any;
s.t. later{g in G: g > 1}: sum{s in S} shim[s] * x[s,g] <= limitChipper;
solve;
printf "nearest %d\n", outer + sum{c in C} chipper[c] * round(n[c]) + sum{s in S, g in G} shim[s] * round(x[s,g]);
end;
`

const glpkUnit = Mil / 100

func TestClosestAgainstGLPK(t *testing.T) {
	glpsol, err := exec.LookPath("glpsol")
	if err != nil {
		t.Skip("skipped: glpsol is not installed; on Debian it is in the package glpk-utils")
	}
	dir := t.TempDir()
	model := filepath.Join(dir, "closest.mod")
	if err := os.WriteFile(model, []byte(closestModel), 0o600); err != nil {
		t.Fatal(err)
	}
	rnd := rand.New(rand.NewPCG(9, 10))
	for i := range 40 {
		set, saw := randomSet(rnd)
		uniform(&set)
		target := (220*Mil + Length(rnd.Int64N(int64(600*Mil)))) / glpkUnit * glpkUnit
		data := filepath.Join(dir, fmt.Sprintf("%d.dat", i))
		if err := os.WriteFile(data, []byte(glpkData(set, saw, target)), 0o600); err != nil {
			t.Fatal(err)
		}
		out, err := exec.CommandContext(t.Context(), glpsol, "--math", model, "--data", data).CombinedOutput()
		if err != nil {
			t.Fatalf("round %d: glpsol: %v\n%s", i, err, out)
		}
		_, after, found := strings.Cut(string(out), "nearest ")
		line, _, _ := strings.Cut(after, "\n")
		sum, err := strconv.ParseInt(line, 10, 64)
		if !found || err != nil || !strings.Contains(string(out), "INTEGER OPTIMAL SOLUTION FOUND") {
			t.Fatalf("round %d: glpsol found no optimum:\n%s", i, out)
		}
		got, ok := Closest(set, saw, target)
		if !ok {
			t.Fatalf("round %d: no stack, GLPK has one of %d", i, sum)
		}
		if d, want := (got.Sum() - target).Abs(), (Length(sum)*glpkUnit - target).Abs(); d != want {
			t.Fatalf("round %d: off by %.5f in, GLPK by %.5f in\n%s", i, d.Inches(), want.Inches(), glpkData(set, saw, target))
		}
	}
}

// uniform forgets the tooth widths and rounds every part to the unit of the program.
func uniform(set *Set) {
	round := func(l *Length) { *l = *l / glpkUnit * glpkUnit }
	set.Outer.Plate, set.Outer.Tooth = 0, 0
	for i := range set.Chippers {
		set.Chippers[i].Tooth = 0
		round(&set.Chippers[i].Measured)
	}
	for i := range set.Shims {
		round(&set.Shims[i].Nominal)
	}
}

func glpkData(set Set, saw Saw, target Length) string {
	var b strings.Builder
	b.WriteString("data;\n")
	table := func(members, thick, count string, n int, at func(i int) (Part, int)) {
		var names, sizes, counts strings.Builder
		for i := range n {
			p, usable := at(i)
			fmt.Fprintf(&names, " %d", i)
			fmt.Fprintf(&sizes, " %d %d", i, p.Size/glpkUnit)
			fmt.Fprintf(&counts, " %d %d", i, usable)
		}
		fmt.Fprintf(&b, "set %s :=%s;\nparam %s :=%s;\nparam %s :=%s;\n", members, &names, thick, &sizes, count, &counts)
	}
	for _, p := range []struct {
		name string
		of   int64
	}{
		{"outer", int64(set.Outer.Part().Size / glpkUnit)},
		{"target", int64(target / glpkUnit)},
		{"widest", int64(MaxSum(set, saw) / glpkUnit)},
		{"inGap", int64(set.Gap.Count)},
		{"limitChipper", int64(set.Gap.Chipper / glpkUnit)},
		{"limitBare", int64(set.Gap.Bare / glpkUnit)},
	} {
		fmt.Fprintf(&b, "param %s := %d;\n", p.name, p.of)
	}
	table("C", "chipper", "chippers", len(set.Chippers), func(i int) (Part, int) { return set.Chippers[i].Part(), set.Chippers[i].Usable() })
	table("S", "shim", "shims", len(set.Shims), func(i int) (Part, int) { return set.Shims[i].Part(), set.usableShims(i) })
	b.WriteString("end;\n")
	return b.String()
}
