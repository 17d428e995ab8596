package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/storage"
)

const (
	// A shop's key begins with its platform and a colon.
	shopsOfMember = selectShop + `substr(key, 1, length(?1) + 1) = ?1 || ':' AND id IN (SELECT shop_id FROM members WHERE key = ?2) ORDER BY id`
	directShop    = `SELECT shop_id FROM direct_shops WHERE platform = ? AND member_key = ?`
	chooseDirect  = `INSERT INTO direct_shops (platform, member_key, shop_id) VALUES (?, ?, ?)
		ON CONFLICT (platform, member_key) DO UPDATE SET shop_id = excluded.shop_id`
)

// MemberShops are the shops of a platform in which someone is a member, and which
// of them their direct messages are about: 0 where they have not said.
func (db *DB) MemberShops(ctx context.Context, platform, memberKey string) (shops []storage.Shop, chosen int64, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if shops, err = queryAll(ctx, tx, shopFields, shopsOfMember, platform, memberKey); err != nil {
			return err
		}
		err := tx.QueryRowContext(ctx, directShop, platform, memberKey).Scan(&chosen)
		if errors.Is(err, sql.ErrNoRows) {
			return nil
		}
		return err
	})
	return shops, chosen, err
}

// ChooseShop says which shop a member's direct messages are about.
func (db *DB) ChooseShop(ctx context.Context, platform, memberKey string, shopID int64) error {
	return db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if _, err := tx.ExecContext(ctx, chooseDirect, platform, memberKey, shopID); err != nil {
			return fmt.Errorf("choose shop: %w", named(err))
		}
		return nil
	})
}
