package commands

import (
	"context"
	"fmt"
	"strconv"

	"shimwright/storage"
)

// directStore knows which shops someone belongs to, for direct messages, which
// name none.
type directStore interface {
	MemberShops(ctx context.Context, platform, memberKey string) (shops []storage.Shop, chosen int64, err error)
	ChooseShop(ctx context.Context, platform, memberKey string, shopID int64) error
}

// shopOf is the shop that a request is about: that of the server, made where it
// is new; in a direct message the member's only shop, or the one they chose.
func (a *App) shopOf(ctx context.Context, c Caller) (storage.Shop, error) {
	if c.ShopKey != "" {
		shop, err := a.Store.EnsureShop(ctx, c.Platform+":"+c.ShopKey, clip(c.ShopName, 100), startingShop(), c.At)
		if err != nil {
			return shop, fmt.Errorf("load the shop: %w", err)
		}
		return a.rename(ctx, shop, clip(c.ShopName, 100))
	}
	shops, chosen, err := a.Store.MemberShops(ctx, c.Platform, c.MemberKey)
	if err != nil {
		return storage.Shop{}, fmt.Errorf("load the member's shops: %w", err)
	}
	for _, s := range shops {
		if s.ID == chosen || len(shops) == 1 {
			return s, nil
		}
	}
	if len(shops) == 0 {
		return storage.Shop{}, &UserError{Message: "I do not know yet which shop you belong to.", Hint: "Use a command once in your shop's own channel; then it works here too."}
	}
	return storage.Shop{}, &whichShop{shops}
}

// rename follows a server that got another name; an empty one is not known.
func (a *App) rename(ctx context.Context, shop storage.Shop, name string) (storage.Shop, error) {
	if name == "" || name == shop.Name {
		return shop, nil
	}
	shop, err := a.Store.UpdateShop(ctx, shop.ID, func(s *storage.Shop) error {
		s.Name = name
		return nil
	})
	if err != nil {
		return shop, fmt.Errorf("rename the shop: %w", err)
	}
	return shop, nil
}

// whichShop asks a member of several shops which one direct messages are about.
type whichShop struct{ shops []storage.Shop }

func (w *whichShop) Error() string { return "the member belongs to several shops" }

// askedShops is how many shops one question offers: five rows of five buttons.
const askedShops = 25

func (w *whichShop) reply() Reply {
	r := Reply{Private: true, Text: lines("Which shop do you mean? I remember your answer for direct messages.", "Then send the command again.")}
	for i, s := range w.shops[:min(len(w.shops), askedShops)] {
		id := action{verb: verbShop, arg: strconv.FormatInt(s.ID, 10)}
		r.Actions = append(r.Actions, Action{ID: id.String(), Label: shopWord(s), Row: i / 5})
	}
	return r
}

// shopWord names a shop; one without a name by the end of its key.
func shopWord(s storage.Shop) string {
	if s.Name != "" {
		return clip(s.Name, 80)
	}
	return "Shop ..." + s.Key[max(0, len(s.Key)-4):]
}

// chooseShop remembers the shop that a member named, if it is one of theirs.
func (a *App) chooseShop(ctx context.Context, c Caller, act action) (Reply, error) {
	shops, _, err := a.Store.MemberShops(ctx, c.Platform, c.MemberKey)
	if err != nil {
		return Reply{}, err
	}
	for _, s := range shops {
		if strconv.FormatInt(s.ID, 10) != act.arg {
			continue
		}
		if err := a.Store.ChooseShop(ctx, c.Platform, c.MemberKey, s.ID); err != nil {
			return Reply{}, err
		}
		return Reply{Private: true, Replace: true, Text: lines("Direct messages are about "+shopWord(s)+" from now on.", "Send your command again.")}, nil
	}
	return Reply{}, &UserError{Message: "That is no shop of yours.", Hint: "Use a command once in your shop's own channel."}
}
