package commands

import "shimwright/storage"

// Cautions of single joints [cp where nothing else is said].
const (
	stoppedCaution = "Stopped cut: not where the shop's rules or local code bar it; HSE WIS16 allows no stopped grooving on a saw. A clamped stop ahead and behind; at its end switch off, wait until it stands, only then lift."
	passesCaution  = "Several passes: power off, or the work well clear of the stack, before the stop is moved; the spacer block is taken away before the cut, so that nothing is trapped."
	// wideRabbetCaution is for a rabbet or half-lap in several passes, which no fence
	// can hide.
	wideRabbetCaution = "Rabbet or half-lap in passes: the mitre gauge or a sled carries the work against a stop, the fence well out of the way; along an edge the sacrificial fence stays locked and moves by the spacer block. The last pass runs past the end: hands clear of that side."
	facesCaution      = "Dadoes in both faces: the web between them is weak. No force on it, and no pressure over the second dado while it is cut."
	// edgeCaution is for a tongue cut with the panel on edge.
	edgeCaution = "Tongue cut on edge: the face that stays against a tall fence, featherboards level with the work and above the cutter, a push block behind; never freehand, never a narrow or warped panel. Long shelves are not stood on end: router or shoulder plane, or ask your instructor."
	// dividerCaution is for dadoes in bottom, top and shelves.
	dividerCaution = "Dadoes for dividers run across the pieces they stand in: gauge or sled and a stop, the two of a divider at one setting. Never a narrow end against the fence."
)

// jointCautions are those that this very cut adds.
func (v *view) jointCautions() []string {
	var out []string
	if v.setup.Stopped {
		out = append(out, stoppedCaution)
	}
	if now, ok := v.loaded(); ok && now.Passes > 1 {
		out = append(out, passesCaution)
	}
	if v.setup.OtherFace.Length > 0 {
		out = append(out, facesCaution)
	}
	if v.setup.Joint == storage.Rabbet {
		out = append(out, "The offcut of a rabbet is dust and chips, never a strip: no cut from two sides that frees a piece beside the turning stack.")
	}
	return out
}
