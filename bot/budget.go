package bot

import (
	"sync"
	"time"
)

// budget counts IDENTIFYs. Discord grants 1000 in 24 hours and resets the token
// of a bot that takes more; a reserve is left for a restart by hand.
type budget struct {
	limit int // of our own in 24 hours

	mu    sync.Mutex
	spent []time.Time // our own, oldest first
	left  int         // what Discord said is left, less ours since
	until time.Time   // when Discord's count starts anew
}

const (
	identifyADay  = 1000
	identifySpare = 50
)

// heard takes Discord's word for what is left.
func (b *budget) heard(remaining int, resetAfter time.Duration, now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.left, b.until = remaining, now.Add(resetAfter)
}

// spend counts one IDENTIFY.
func (b *budget) spend(now time.Time) {
	b.mu.Lock()
	defer b.mu.Unlock()
	b.spent = append(b.spent, now)
	b.left--
}

// wait is how long to hold back before the next IDENTIFY.
func (b *budget) wait(now time.Time) time.Duration {
	b.mu.Lock()
	defer b.mu.Unlock()
	for len(b.spent) > 0 && now.Sub(b.spent[0]) >= 24*time.Hour {
		b.spent = b.spent[1:]
	}
	var hold time.Duration
	if n := len(b.spent); n >= b.limit {
		hold = b.spent[n-b.limit].Add(24 * time.Hour).Sub(now)
	}
	if now.Before(b.until) && b.left <= identifySpare {
		hold = max(hold, b.until.Sub(now))
	}
	return hold
}
