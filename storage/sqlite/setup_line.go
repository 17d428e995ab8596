package sqlite

import (
	"context"
	"database/sql"

	"shimwright/storage"
)

// A line reads one row of setups and looks up the rest by key: where a list is
// completed with every letter, whole setups would be hundreds of rows of JSON.
const (
	selectLines = `SELECT no, member_id, joint, readings, project, lot, created, state,
		(SELECT count(*) FROM cuts WHERE shop_id = setups.shop_id AND setup = setups.no AND voided = 0),
		coalesce((SELECT name FROM sets WHERE shop_id = setups.shop_id AND id = setups.set_id AND retired = 0), ''),
		coalesce((SELECT name FROM saws WHERE shop_id = setups.shop_id AND id = setups.saw_id AND retired = 0), ''),
		(SELECT name FROM members WHERE shop_id = setups.shop_id AND id = setups.member_id) `
	linesOfShop   = selectLines + `FROM setups WHERE shop_id = ? ORDER BY no DESC LIMIT ?`
	linesOfMember = selectLines + `FROM setups WHERE shop_id = ? AND member_id = ? ORDER BY no DESC LIMIT ?`
)

func lineFields(l *storage.SetupLine) []any {
	s := &l.Setup
	return []any{
		&s.No, &s.MemberID, &s.Joint,
		asMeasures{&s.Readings},
		&s.Project, &s.Lot,
		asMillis{&s.Created},
		&s.State, &l.Cuts, &l.Set, &l.Saw, &l.Member,
	}
}

// SetupLines are up to limit setups of a member, or of the whole shop for
// memberID 0, newest first, each as a line of a list.
func (db *DB) SetupLines(ctx context.Context, shopID, memberID int64, limit int) (all []storage.SetupLine, err error) {
	query, args := linesOfShop, []any{shopID, limit}
	if memberID != 0 {
		query, args = linesOfMember, []any{shopID, memberID, limit}
	}
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, lineFields, query, args...)
		return err
	})
	return all, err
}
