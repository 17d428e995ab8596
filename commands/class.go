package commands

import "strconv"

func classCommand() Command {
	return Command{
		Name: "class", Summary: "The class and the shop: who waits, what is open, who has what", Example: "/class board",
		Subs: []Command{
			boardCommand(), queueCommand(), reviewCommand(), rosterCommand(), reportCommand(), settingsCommand(), nearMissCommand(),
		},
	}
}

// classPresses answer the buttons of a setup's life, of the saws and of the sets.
// Each asks for the rights it needs.
var classPresses = map[verb]func(*session, action, map[string]string) (Reply, error){
	verbPower:   bare((*session).pressPower),
	verbLoaded:  bare((*session).pressLoaded),
	verbChecked: bare((*session).pressChecked),
	verbDown:    bare((*session).pressDown),
	verbKeep:    bare((*session).pressKeep),
	verbAside:   bare((*session).pressAside),
	verbUp:      bare((*session).pressAside),
	verbTake:    bare((*session).pressSet),
	verbReturn:  bare((*session).pressSet),
	verbRelease: bare((*session).pressRelease),
	verbPieces:  (*session).pressPieces,
	verbBack:    (*session).pressBack,
	verbAgain:   bare((*session).pressAgain),
	verbErase:   bare((*session).pressErase),
	verbBoard:   func(s *session, _ action, _ map[string]string) (Reply, error) { return s.board() },
	verbReview: func(s *session, act action, _ map[string]string) (Reply, error) {
		from, _ := strconv.Atoi(act.arg) // no number: the first page
		return s.review(from)
	},
}

func bare(press func(*session, action) (Reply, error)) func(*session, action, map[string]string) (Reply, error) {
	return func(s *session, act action, _ map[string]string) (Reply, error) { return press(s, act) }
}
