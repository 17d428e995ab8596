package commands

import (
	"context"
	"errors"
	"fmt"
	"strings"
	"time"

	"shimwright/storage"
)

// dueStore gives each shop's work of a day to one process.
type dueStore interface {
	Shops(ctx context.Context) ([]storage.Shop, error)
	Claim(ctx context.Context, shopID int64, job string, day storage.Day) (bool, error)
	Retain(ctx context.Context, shopID int64, since time.Time, today storage.Day) (int, error)
}

// Post is a message that the bot sends of its own accord.
type Post struct {
	Key     string // at most 25 characters; the same key is the same post
	ShopKey string // the platform's key of the server
	Channel string // the platform's key of the channel
	Text    string
}

// digestBefore is how long before the end of a class its digest comes [shop]: in
// time to take down what is still on.
const digestBefore = 30 // minutes

// Due does the work that is due at a time and that nobody asked for: it blanks
// what a shop keeps no longer, and gives the posts to send on a platform. Each is
// claimed for its shop and day before it is done, so that no two processes do it,
// nor one twice; a post that then cannot be sent is not sent that day. What
// failed for one shop keeps no other from its due.
func (a *App) Due(ctx context.Context, platform string, now time.Time) ([]Post, error) {
	shops, err := a.Store.Shops(ctx)
	if err != nil {
		return nil, err
	}
	var posts []Post
	var failed error
	for _, shop := range shops {
		if err := a.retain(ctx, shop, now); err != nil {
			failed = errors.Join(failed, fmt.Errorf("retention of shop %d: %w", shop.ID, err))
		}
		post, ok, err := a.digest(ctx, shop, platform, now)
		if err != nil {
			failed = errors.Join(failed, fmt.Errorf("digest of shop %d: %w", shop.ID, err))
		}
		if ok {
			posts = append(posts, post)
		}
	}
	return posts, failed
}

func (a *App) retain(ctx context.Context, shop storage.Shop, now time.Time) error {
	days := shop.Settings.KeepDays
	if days <= 0 {
		return nil
	}
	today := storage.DayOf(now.UTC())
	if mine, err := a.Store.Claim(ctx, shop.ID, "retention", today); err != nil || !mine {
		return err
	}
	_, err := a.Store.Retain(ctx, shop.ID, now.AddDate(0, 0, -days), today)
	return err
}

// digest is the post of a shop whose class is about to end.
func (a *App) digest(ctx context.Context, shop storage.Shop, platform string, now time.Time) (Post, bool, error) {
	set := shop.Settings
	of, server, _ := strings.Cut(shop.Key, ":")
	local := now.In(set.Location())
	late := set.Hours
	late.From = max(late.From, late.To-digestBefore)
	if of != platform || !set.Digest || set.ReviewChannel == "" || digestPaused(set) || !late.Holds(local) {
		return Post{}, false, nil
	}
	day := storage.DayOf(local)
	if mine, err := a.Store.Claim(ctx, shop.ID, "digest", day); err != nil || !mine {
		return Post{}, false, err
	}
	s := &session{Context: ctx, app: a, caller: Caller{Platform: platform, ShopKey: server, At: now}, shop: shop, zone: set.Location()}
	text, err := s.digestText()
	return Post{Key: fmt.Sprintf("digest-%d-%s", shop.ID, day), ShopKey: server, Channel: set.ReviewChannel, Text: text}, err == nil, err
}

// PostRefused notes that the bot may not post where a post was to go: the digest
// pauses until an instructor names another channel or asks for it again.
func (a *App) PostRefused(ctx context.Context, platform string, p Post, now time.Time) error {
	shop, err := a.Store.EnsureShop(ctx, platform+":"+p.ShopKey, "", startingShop(), now)
	if err != nil {
		return err
	}
	_, err = a.Store.UpdateShop(ctx, shop.ID, func(shop *storage.Shop) error {
		shop.Settings.DigestRefused = p.Channel
		return nil
	})
	return err
}

// digestPaused says whether the digest would go where the bot may not post.
func digestPaused(set storage.Settings) bool {
	return set.Digest && set.ReviewChannel != "" && set.DigestRefused == set.ReviewChannel
}

// digestWarning tells the instructors that the digest is paused.
const digestWarning = "The digest is paused: I may not post in the review channel. Let me see that channel, write and attach files in it, then /class settings digest:yes; or name another with review."

func (s *session) digestText() (string, error) {
	b, err := s.readBoard()
	if err != nil {
		return "", err
	}
	dialled, up := 0, []string{}
	for _, setup := range b.open {
		if setup.State == storage.DialledIn || setup.State == storage.Released {
			dialled++
		}
		if setup.State != storage.Planned || b.loaded(setup) {
			up = append(up, fmt.Sprintf("%d on %s", setup.No, orRetired(b.names.saws[setup.SawID])))
		}
	}
	var out []string
	for _, set := range b.sets {
		if c := b.out[set.ID]; c.No != 0 {
			out = append(out, fmt.Sprintf("%s with %s", set.Name, b.names.member(c.MemberID)))
		}
	}
	text := []string{fmt.Sprintf("Before the class ends: %d open, %d dialled in, %d not taken down, %d %s out.",
		len(b.open), dialled, len(up), len(out), plural(len(out), "set", "sets"))}
	const most = 10
	short := func(words []string) string {
		if n := len(words) - most; n > 0 {
			return strings.Join(words[:most], ", ") + fmt.Sprintf(" and %d more", n)
		}
		return strings.Join(words, ", ")
	}
	if len(up) > 0 {
		text = append(text, "Not taken down: setup "+short(up)+".")
	}
	if len(out) > 0 {
		text = append(text, "Out: "+short(out)+".")
	}
	return lines(text...), nil
}
