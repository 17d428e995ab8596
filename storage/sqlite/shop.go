package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"time"

	"shimwright/storage"
)

const (
	selectShop = `SELECT id, key, name, created, settings, set_id, saw_id FROM shops WHERE `
	insertShop = `INSERT INTO shops (key, name, created, settings, set_id, saw_id) VALUES (?, ?, ?, ?, ?, ?) RETURNING id`
	updateShop = `UPDATE shops SET (name, created, settings, set_id, saw_id) = (?, ?, ?, ?, ?) WHERE id = ?`
)

func shopFields(s *storage.Shop) []any {
	return []any{
		&s.ID, &s.Key, &s.Name,
		asMillis{&s.Created},
		asSettings{&s.Settings},
		orNull[int64]{&s.Settings.SetID},
		orNull[int64]{&s.Settings.SawID},
	}
}

// asSettings keeps settings as JSON without the ids, which have columns of their own.
type asSettings struct{ S *storage.Settings }

func (c asSettings) Value() (driver.Value, error) {
	rest := *c.S
	rest.SetID, rest.SawID = 0, 0
	return asJSON{rest}.Value()
}

func (c asSettings) Scan(src any) error { return asJSON{c.S}.Scan(src) }

func shopByKey(ctx context.Context, tx *sql.Tx, key string) (storage.Shop, error) {
	return only(queryAll(ctx, tx, shopFields, selectShop+`key = ?`, key))
}

// EnsureShop is the shop with this key. Where there is none it is made together
// with its starting sets and saws; of callers at the same moment one makes it.
// name, start and at count for nothing when the shop is there.
func (db *DB) EnsureShop(ctx context.Context, key, name string, start storage.Start, at time.Time) (storage.Shop, error) {
	var shop storage.Shop
	load := func(ctx context.Context, tx *sql.Tx) (err error) {
		shop, err = shopByKey(ctx, tx, key)
		return err
	}
	if err := db.read(ctx, load); !errors.Is(err, storage.ErrNotFound) {
		return shop, err
	}
	err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		err := load(ctx, tx)
		if !errors.Is(err, storage.ErrNotFound) {
			return err // nil where another caller has just made it
		}
		shop, err = addShop(ctx, tx, storage.Shop{Key: key, Name: name, Settings: start.Settings, Created: at}, start)
		return err
	})
	return shop, err
}

func addShop(ctx context.Context, tx *sql.Tx, shop storage.Shop, start storage.Start) (storage.Shop, error) {
	shop.Settings.SetID, shop.Settings.SawID = 0, 0
	if err := tx.QueryRowContext(ctx, insertShop, shopFields(&shop)[1:]...).Scan(&shop.ID); err != nil {
		return storage.Shop{}, fmt.Errorf("add shop: %w", err)
	}
	for i, set := range start.Sets {
		set.ShopID = shop.ID
		added, err := addSet(ctx, tx, set)
		if err != nil {
			return storage.Shop{}, err
		}
		if i == 0 {
			shop.Settings.SetID = added.ID
		}
	}
	for i, saw := range start.Saws {
		saw.ShopID = shop.ID
		added, err := addSaw(ctx, tx, saw)
		if err != nil {
			return storage.Shop{}, err
		}
		if i == 0 {
			shop.Settings.SawID = added.ID
		}
	}
	return saveShop(ctx, tx, shop)
}

func saveShop(ctx context.Context, tx *sql.Tx, shop storage.Shop) (storage.Shop, error) {
	if _, err := tx.ExecContext(ctx, updateShop, append(shopFields(&shop)[2:], shop.ID)...); err != nil {
		return storage.Shop{}, fmt.Errorf("save shop: %w", named(err))
	}
	return shopByKey(ctx, tx, shop.Key)
}

// UpdateShop changes the shop's name and settings. A set or saw of another shop
// in them is storage.ErrNotFound.
func (db *DB) UpdateShop(ctx context.Context, shopID int64, change func(*storage.Shop) error) (storage.Shop, error) {
	var shop storage.Shop
	err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		before, err := only(queryAll(ctx, tx, shopFields, selectShop+`id = ?`, shopID))
		if err != nil {
			return err
		}
		after := before
		if err := change(&after); err != nil {
			return err
		}
		if after.ID != before.ID || after.Key != before.Key || !after.Created.Equal(before.Created) {
			return errors.New("a shop's id, key and time of making never change")
		}
		shop, err = saveShop(ctx, tx, after)
		return err
	})
	return shop, err
}
