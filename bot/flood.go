package bot

import (
	"sync"
	"time"
)

// flood slows a member who sends more than a person does, and nobody else. Each
// member has a bucket of tokens that fills at a steady rate.
type flood struct {
	burst, refill float64
	slow          time.Duration // longest wait that is granted

	mu      sync.Mutex
	members map[string]tokens
}

type tokens struct {
	left float64 // below zero: taken in advance by those who wait
	at   time.Time
}

func newFlood(burst, refill float64, slow time.Duration) *flood {
	return &flood{burst: burst, refill: refill, slow: slow, members: map[string]tokens{}}
}

// take says how long the member has to wait; false: longer than is granted.
func (f *flood) take(member string, now time.Time) (time.Duration, bool) {
	f.mu.Lock()
	defer f.mu.Unlock()
	if len(f.members) >= 4096 {
		f.sweep(now)
	}
	t, known := f.members[member]
	if !known {
		t.left = f.burst
	} else {
		t.left = min(f.burst, t.left+max(0, now.Sub(t.at).Seconds())*f.refill)
	}
	t.at = now
	wait := time.Duration(0)
	if t.left < 1 {
		wait = time.Duration((1 - t.left) / f.refill * float64(time.Second))
	}
	if wait > f.slow {
		f.members[member] = t
		return 0, false
	}
	t.left--
	f.members[member] = t
	return wait, true
}

// sweep forgets members whose bucket is full again.
func (f *flood) sweep(now time.Time) {
	for m, t := range f.members {
		if t.left+now.Sub(t.at).Seconds()*f.refill >= f.burst {
			delete(f.members, m)
		}
	}
}
