package solver

import (
	"math"
	"testing"
)

// Every cell of Table 4-2 from 30 to 120 F within 0.07 point.
func TestEquilibriumMoistureAgainstTable(t *testing.T) {
	cells, worst := 0, 0.0
	for _, row := range tradeTable(t, "emc_table_4_2.csv") {
		for i, cell := range row[1:] {
			a := Air{F: number(t, row[0]), RH: float64(5 * (i + 1))}
			got, ok := EquilibriumMoisture(a)
			off := math.Abs(got - number(t, cell))
			if !ok || off > 0.07 {
				t.Errorf("%v: %v, the table has %s", a, got, cell)
			}
			cells, worst = cells+1, max(worst, off)
		}
	}
	if cells != 190 {
		t.Errorf("%d cells", cells)
	}
	t.Logf("worst %.3f point", worst)
}

// The same equation with its coefficients for degrees Celsius [sec, the same
// place]: they were rounded apart from those for Fahrenheit.
func TestEquilibriumMoistureInCelsius(t *testing.T) {
	for c := 0.0; c <= 45; c += 5 {
		for rh := 10.0; rh <= 90; rh += 10 {
			h := rh / 100
			w := 349 + 1.29*c + 0.0135*c*c
			k := 0.805 + 0.000736*c - 0.00000273*c*c
			k1 := 6.27 - 0.00938*c - 0.000303*c*c
			k2 := 1.91 + 0.0407*c - 0.000293*c*c
			want := 1800 / w * (k*h/(1-k*h) + (k1*k*h+2*k1*k2*k*k*h*h)/(1+k1*k*h+k1*k2*k*k*h*h))
			got, ok := EquilibriumMoisture(Air{Fahrenheit(c), rh})
			if !ok || math.Abs(got-want) > 0.05 {
				t.Errorf("%v C, %v %%: %v, want %v", c, rh, got, want)
			}
		}
	}
}

func TestEquilibriumMoistureRange(t *testing.T) {
	if m, ok := EquilibriumMoisture(Air{70, 50}); !ok || math.Abs(m-9.2) > 0.07 { // Table 4-2
		t.Errorf("70 F, 50 %%: %v", m)
	}
	for _, a := range []Air{{29.9, 50}, {120.1, 50}, {70, 4}, {70, 96}, {math.NaN(), 50}, {70, math.NaN()}, {math.Inf(1), 50}} {
		if m, ok := EquilibriumMoisture(a); ok || m != 0 {
			t.Errorf("%v: %v", a, m)
		}
	}
}
