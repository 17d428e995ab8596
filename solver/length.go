// Package solver computes everything about a dado and the stacked cutter set
// that cuts it: measurements, stacks, shims, fit, what was learned about a set.
//
// It is pure: values in, values out, no clock, no randomness, no input or
// output. Lengths are exact integers; only chances and beliefs are floats.
package solver

import (
	"math/big"

	"github.com/shopspring/decimal"
)

// Length is a length in picometres. Every multiple of 1/512 in (49 609 375 pm)
// and of 1e-8 in (254 pm) is exact, and so is every sum of them.
type Length int64

// The units, in picometres. An inch is 25.4 mm exactly [pub: NIST SP 811, app. B].
const (
	Picometre  Length = 1
	Micrometre        = 1_000_000 * Picometre
	Millimetre        = 1000 * Micrometre
	Inch              = 25_400_000_000 * Picometre
	// Mil is a thousandth of an inch, the unit in which the trade speaks of shims and play.
	Mil = Inch / 1000
)

// Inches is the length of num/den inches, rounded to the nearest picometre,
// halves away from zero. den must not be zero.
func Inches(num, den int64) Length {
	return roundRat(new(big.Rat).SetFrac64(num, den), Inch)
}

// InchesFloat and MMFloat round a float to the nearest picometre. They are for
// figures that are estimates already (a learned offset), never for a reading.
func InchesFloat(in float64) Length { return roundRat(new(big.Rat).SetFloat64(in), Inch) }

// MMFloat is InchesFloat for millimetres.
func MMFloat(mm float64) Length { return roundRat(new(big.Rat).SetFloat64(mm), Millimetre) }

func roundRat(r *big.Rat, unit Length) Length {
	if r == nil {
		return 0
	}
	r.Mul(r, new(big.Rat).SetInt64(int64(unit)))
	n, d := new(big.Int).Set(r.Num()), r.Denom()
	neg := n.Sign() < 0
	n.Abs(n).Lsh(n, 1).Add(n, d)
	n.Quo(n, new(big.Int).Lsh(d, 1))
	if neg {
		n.Neg(n)
	}
	return Length(n.Int64())
}

// Inches is the length in inches, to float precision.
func (l Length) Inches() float64 { return float64(l) / float64(Inch) }

// MM is the length in millimetres, to float precision.
func (l Length) MM() float64 { return float64(l) / float64(Millimetre) }

// DecimalMM is the exact length in millimetres, in its shortest decimal form:
// the form of the public JSON.
func (l Length) DecimalMM() string { return decimal.New(int64(l), -9).String() }

// Abs is the length without its sign.
func (l Length) Abs() Length {
	if l < 0 {
		return -l
	}
	return l
}
