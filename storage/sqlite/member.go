package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/storage"
)

const (
	selectMembers = `SELECT shop_id, id, key, erased, seen, name, style, minor FROM members WHERE shop_id = ?`
	insertMember  = `INSERT INTO members (shop_id, key, name) VALUES (?, ?, ?)
		ON CONFLICT (shop_id, key) DO UPDATE SET name = excluded.name`
	updateMember = `UPDATE members SET (name, style, minor) = (?, ?, ?) WHERE shop_id = ? AND id = ?`
	seeMember    = `UPDATE members SET seen = ? WHERE shop_id = ? AND id = ? AND seen < ?1`
)

func memberFields(m *storage.Member) []any {
	return []any{&m.ShopID, &m.ID, &m.Key, &m.Erased, &m.Seen, &m.Name, asStyleOrNull{&m.Style}, &m.Minor}
}

// SawMember notes the day of a member's command, for the shop's retention.
func (db *DB) SawMember(ctx context.Context, shopID, id int64, day storage.Day) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		_, err := tx.ExecContext(ctx, seeMember, day, shopID, id)
		return err
	})
}

// EnsureMember is the member of the shop with this key, made where there is
// none. A name that is not empty and not the one on record replaces it.
func (db *DB) EnsureMember(ctx context.Context, shopID int64, key, name string) (storage.Member, error) {
	var m storage.Member
	load := func(ctx context.Context, tx *sql.Tx) (err error) {
		m, err = only(queryAll(ctx, tx, memberFields, selectMembers+` AND key = ?`, shopID, key))
		return err
	}
	err := db.read(ctx, load)
	if err == nil && (m.Name == name || name == "") || err != nil && !errors.Is(err, storage.ErrNotFound) {
		return m, err
	}
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, insertMember, shopID, key, name); err != nil {
			return fmt.Errorf("add member: %w", named(err))
		}
		return load(ctx, tx)
	})
	return m, err
}

// Member is one member of the shop.
func (db *DB) Member(ctx context.Context, shopID, id int64) (m storage.Member, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		m, err = memberByID(ctx, tx, shopID, id)
		return err
	})
	return m, err
}

func memberByID(ctx context.Context, tx *sql.Tx, shopID, id int64) (storage.Member, error) {
	return only(queryAll(ctx, tx, memberFields, selectMembers+` AND id = ?`, shopID, id))
}

// Members are the members of the shop in the order they came.
func (db *DB) Members(ctx context.Context, shopID int64) (all []storage.Member, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, memberFields, selectMembers+` ORDER BY id`, shopID)
		return err
	})
	return all, err
}

// UpdateMember changes a member's name, style and whether they are a minor.
func (db *DB) UpdateMember(ctx context.Context, shopID, id int64, change func(*storage.Member) error) (storage.Member, error) {
	var m storage.Member
	err := db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		before, err := memberByID(ctx, tx, shopID, id)
		if err != nil {
			return err
		}
		m = before
		if err := change(&m); err != nil {
			return err
		}
		if m.ID != before.ID || m.ShopID != before.ShopID || m.Key != before.Key || m.Erased != before.Erased || m.Seen != before.Seen {
			return errors.New("a member's id, shop and key never change")
		}
		_, err = tx.ExecContext(ctx, updateMember, append(memberFields(&m)[5:], shopID, id)...)
		return err
	})
	return m, err
}
