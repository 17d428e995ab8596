package commands

import (
	"strconv"
	"strings"
)

// action is what a button stands for. It is not trusted: shop and member come
// from the interaction, rights and numbers from storage.
type action struct {
	verb     verb
	setup    int64
	cut      int // the number that a cut logged with it gets; 0: none
	revision int // of the setup's stacks
	arg      string
}

type verb string

// The verbs.
const (
	verbShow    verb = "show"    // a detail of a setup; arg names it
	verbSetup   verb = "setup"   // a setup with fresh buttons
	verbUse     verb = "use"     // take another stack; arg is its place, from 1
	verbFeel    verb = "feel"    // a test cut by feel; arg is the grade's code
	verbMeasure verb = "measure" // a test cut by measure; opens a form
	verbSlips   verb = "slips"   // a test cut by slips of paper; opens a form
	verbUndo    verb = "undo"    // void cut
	verbCaution verb = "caution" // the whole list of cautions
	verbPower   verb = "power"   // power is off before the arbor is touched
	verbLoaded  verb = "loaded"  // the stack is on the saw
	verbChecked verb = "checked" // load number cut of the saw arg was looked over
	verbDown    verb = "down"    // the saw arg has its standard blade back
	verbKeep    verb = "keep"    // take the plan with what is on the saw; arg is the load's number
	verbAside   verb = "aside"   // put a plan nobody cut aside
	verbUp      verb = "takeup"  // take it up again
	verbPieces  verb = "pieces"  // count pieces; cut is how many there were; opens a form
	verbRelease verb = "release" // an instructor looked at it at the saw
	verbBack    verb = "back"    // send back with a word; opens a form
	verbReview  verb = "review"  // a page of the review; arg is the first setup's place
	verbBoard   verb = "board"   // renew the board
	verbTake    verb = "take"    // take the set arg; cut 1: on the board
	verbReturn  verb = "return"  // return the set arg; cut 1: on the board
	verbAgain   verb = "again"   // ask anew for what worked in the setup
	verbErase   verb = "erase"   // blank the member arg
	verbShop    verb = "shop"    // which shop direct messages are about; arg is its id
)

var verbs = []verb{
	verbShow, verbSetup, verbUse, verbFeel, verbMeasure, verbSlips, verbUndo, verbCaution, verbShop,
	verbPower, verbLoaded, verbChecked, verbDown, verbKeep, verbAside, verbUp, verbPieces,
	verbRelease, verbBack, verbReview, verbBoard, verbTake, verbReturn, verbAgain, verbErase,
}

// maxActionID is Discord's limit of a custom_id.
const maxActionID = 100

// String is the id of the action: 1:<verb>:<setup>:<cut no>:<stack revision>:<arg>.
func (a action) String() string {
	return strings.Join([]string{
		"1", string(a.verb), strconv.FormatInt(a.setup, 10), strconv.Itoa(a.cut), strconv.Itoa(a.revision), a.arg,
	}, ":")
}

// parseAction reads an id back. It takes nothing that String does not write.
func parseAction(id string) (action, bool) {
	parts := strings.SplitN(id, ":", 6)
	if len(id) > maxActionID || len(parts) != 6 || parts[0] != "1" {
		return action{}, false
	}
	a := action{verb: verb(parts[1]), arg: parts[5]}
	known := false
	for _, v := range verbs {
		known = known || a.verb == v
	}
	setup, err1 := strconv.ParseInt(parts[2], 10, 64)
	cut, err2 := strconv.ParseInt(parts[3], 10, 32)
	revision, err3 := strconv.ParseInt(parts[4], 10, 32)
	if !known || err1 != nil || err2 != nil || err3 != nil {
		return action{}, false
	}
	a.setup, a.cut, a.revision = setup, int(cut), int(revision)
	return a, a.setup >= 0 && a.cut >= 0 && a.revision >= 0 && a.String() == id
}
