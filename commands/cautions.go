package commands

import (
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

// The cautions. They never state law as advice: a short caution, a rule named as
// a place to look, and whom it defers to. Marks and sources: US 29 CFR 1910.147
// and 1910.213(a)(15) [pub], 1910.213(c)(2) [mem], Washington WAC 296-307-18512(3)
// [pub], HSE WIS16 [pub/sec], EN ISO 19085-9 and EN 847-1 [pub/sec]; the rest is
// common practice, no source [cp].

// cautionLines is every caution for this very setup, in the order of the work.
func (v *view) cautionLines() []string {
	saw := v.saw.Saw
	out := []string{"Cautions for this setup, in the order of the work:"}
	add := func(text string) { out = append(out, fmt.Sprintf("%d. %s", len(out), text)) }
	add(powerOff)
	if v.set.Parts.Kind != solver.Blade {
		add("Guard off, riving knife out or locked at its lowest, as this saw's manual says; featherboards or suitable jigs guard the cut instead.")
		add("Every tooth looked at: no missing or cracked carbide. Plates flat and clean. Carbide lies on wood, never on iron.")
		add("Both outer blades always, teeth the right way; chippers only between them; no tip touching another.")
		if now, ok := v.loaded(); ok && len(now.Stack.Shims()) > 0 {
			add("Hold each shim up on the plate while you slide the next cutter on: a shim in the arbor thread gets pinched.")
		}
		add("Both flanges on, at least one full thread past the nut, nut tight to a wrench.")
		if saw.Flange == solver.OuterMayBeLeft {
			add("This saw's manual lets the outer flange be left off for a wide stack: only as the manual shows it.")
		}
		add("The insert for a stacked set; a full turn by hand before power. Nothing may touch.")
	} else {
		add("Guard and riving knife stay as this saw's manual says for a cut that does not go through.")
	}
	if saw.Brake {
		add("Brake: the cartridge made for stacked sets goes in; its manual limits width and diameter.")
	}
	switch v.setup.Joint {
	case storage.Rabbet:
		if now, ok := v.loaded(); ok && now.Passes > 1 {
			add(wideRabbetCaution)
			break
		}
		add("Rabbet: a sacrificial fence, locked, the stack raised into it while it turns until no more than the rabbet shows. Featherboards above and beside.")
	case storage.Groove:
		add("Groove along the grain: against the fence, featherboards above and beside, push blocks. A stopped groove: not on this saw unless the shop's rules and local code allow it.")
	default:
		if saw.Fence == solver.FenceAllowed {
			add("Across the grain: the mitre gauge or a sled carries the work. This saw's manual allows the fence as a stop; the work is never pinched between fence and cutter.")
		} else {
			add("Across the grain: the mitre gauge or a sled carries the work, a stop block ahead of the cutter sets the place. Never a narrow end against the fence without gauge or sled.")
		}
		add("A backer behind the work against tear-out.")
	}
	for _, c := range v.jointCautions() {
		add(c)
	}
	add("Never press a warped board flat over the stack. No bevel unless the manual allows it; no cut all the way through.")
	add("Eyes and ears covered, no gloves, no loose sleeves; push blocks; hands out of the path and never over the dado.")
	add("Work is never drawn back over a turning stack: switch off, wait until it stands, lift.")
	if v.setup.Depth.Length > 3*solver.Inch/8 {
		add("Deep: in several passes, each a little deeper.")
	}
	add("Who did not load the stack checks it before using it.")
	add("Afterwards at once: power off, stack off, standard blade, insert, guard and riving knife back.")
	if v.s.shop.Settings.Unit == solver.MillimetreUnit || v.setup.Style.Unit == solver.MillimetreUnit {
		add("Many European saws have arbors too short for a stacked set by design: then the answer is not on this saw. Places to look: HSE WIS16, EN ISO 19085-9, EN 847-1.")
	} else {
		add("Places to look: 29 CFR 1910.147 and 1910.213, or your state's rules; a school has rules of its own.")
	}
	return append(v.s.ownCautions(out), deferral)
}

const powerOff = "Power disconnected before you touch the arbor: the plug pulled and in the hand of the person at the saw; on a hard-wired saw the isolator locked off."

func safetyCommand() Command {
	return Command{
		Name: "safety", Summary: "All cautions, in the order of the work", Example: "/safety", Private: true,
		run: func(s *session, _ args) (Reply, error) { return safetyReply(s), s.hadCautions() },
	}
}

// ownCautions adds those of the shop itself.
func (s *session) ownCautions(out []string) []string {
	own := s.shop.Settings.Cautions
	if len(own) > 0 {
		out = append(out, "This shop's own:")
	}
	for _, c := range own {
		out = append(out, "- "+c)
	}
	return out
}

func safetyReply(s *session) Reply {
	text := []string{
		"Cautions for stacked cutters on a table saw, in the order of the work.",
		"First: is it allowed? The shop's rules, local code and the saw's manual may bar a stacked set, or a stopped cut, on this saw. Many European saws have arbors too short for one by design. In doubt, stop and ask your instructor.",
		"Loading",
		"1. " + powerOff,
		"2. Guard off and riving knife out or at its lowest only as the saw's manual says; featherboards or jigs guard the cut instead.",
		"3. Set fits saw: diameter, marked speed, width, arbor with both flanges and a full thread past the nut. A saw with a brake has the cartridge made for stacked sets.",
		"4. Every tooth whole, plates flat and clean. Both outer blades always; chippers between them, fanned so that no tip touches.",
		"5. Shims are rigid rings, at most two in a gap, none in the arbor thread.",
		"6. Nut tight to a wrench. Insert for the stack. Turn by hand: nothing touches.",
		"Cutting",
		"7. Test in scrap of the same stock, at least 12 in along the gauge, never under 6 in, held firmly.",
		"8. Gauge or sled across the grain, stop block ahead of the cutter; fence and featherboards along it. Never freehand.",
		"9. Eyes and ears covered, no gloves, no loose sleeves. Push blocks; hands out of the path and never over the dado.",
		"10. No warped board pressed flat, no bevel unless the manual allows it, no cut all the way through.",
		"11. Never draw work back over a turning stack: switch off, wait, lift.",
		"Handing over",
		"12. Who did not load the stack checks it before using it.",
		"13. When done, at once: power off, stack off, standard blade, insert, guard and riving knife back.",
	}
	text = append(s.ownCautions(text), "Places to look: US 29 CFR 1910.147 and 1910.213; UK HSE information sheet WIS16; EN ISO 19085-9 and EN 847-1. "+deferral)
	return Reply{Private: true, Text: lines(text...)}
}
