package drawing

import (
	"crypto/sha256"
	"io"
	"slices"
	"sync"
)

// Cache draws pictures and keeps the latest, by content: the same scene in the
// same theme is drawn once. To ask it costs a ninth of the drawing
// (BenchmarkCache). Its zero value is ready; it may be used from many goroutines.
type Cache struct {
	mu   sync.Mutex
	kept []drawn // the one asked for last stands last
}

type drawn struct {
	key  [sha256.Size]byte
	data []byte
}

// keep is how many pictures a cache holds, at 60 kB at most each.
const keep = 64

// PNG is PNG with the cache. The bytes must not be changed.
func (c *Cache) PNG(s Scene, t Theme) ([]byte, error) {
	sum := sha256.New()
	_, _ = io.WriteString(sum, t.Name+"\n"+s.String()) // cannot fail
	key := [sha256.Size]byte(sum.Sum(nil))
	if data, ok := c.take(key); ok {
		return data, nil
	}
	data, err := PNG(s, t)
	if err != nil {
		return nil, err
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.kept = append(c.kept, drawn{key, data})
	if over := len(c.kept) - keep; over > 0 {
		c.kept = slices.Delete(c.kept, 0, over)
	}
	return data, nil
}

func (c *Cache) take(key [sha256.Size]byte) ([]byte, bool) {
	c.mu.Lock()
	defer c.mu.Unlock()
	i := slices.IndexFunc(c.kept, func(d drawn) bool { return d.key == key })
	if i < 0 {
		return nil, false
	}
	d := c.kept[i]
	c.kept = append(slices.Delete(c.kept, i, i+1), d)
	return d.data, true
}
