package sqlite

import (
	"context"
	"database/sql"
	"math"

	"shimwright/storage"
)

const (
	cutsOfMember    = `SELECT ` + cutColumns + ` FROM cuts WHERE shop_id = ? AND member_id = ? ORDER BY log_no`
	movesOfMember   = `SELECT ` + moveColumns + ` FROM setup_moves WHERE shop_id = ? AND member_id = ? ORDER BY setup, no`
	custodyOfMember = `SELECT ` + custodyColumns + ` FROM set_custody WHERE shop_id = ? AND member_id = ? ORDER BY no`
	loadsOfMember   = `SELECT setup, saw_id, revision, at FROM saw_loads WHERE shop_id = ? AND member_id = ? ORDER BY no`
	checksOfMember  = `SELECT l.setup, l.saw_id, c.at FROM load_checks c JOIN saw_loads l ON l.shop_id = c.shop_id AND l.no = c.load
		WHERE c.shop_id = ? AND c.member_id = ? ORDER BY c.load`
	marksOfMember  = `SELECT ` + markColumns + ` FROM setup_marks WHERE shop_id = ? AND member_id = ? ORDER BY setup, no`
	checkOffsBy    = `SELECT ` + checkOffColumns + ` FROM checkoffs WHERE shop_id = ? AND by_id = ? ORDER BY id`
	upkeepOfMember = `SELECT ` + upkeepColumns + ` FROM upkeep WHERE shop_id = ? AND member_id = ? ORDER BY log_no`
)

// Personal is everything on record of a member of the shop.
func (db *DB) Personal(ctx context.Context, shopID, memberID int64) (p storage.Personal, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		p, err = loadPersonal(ctx, tx, shopID, memberID)
		return err
	})
	return p, err
}

func loadPersonal(ctx context.Context, tx *sql.Tx, shopID, memberID int64) (p storage.Personal, err error) {
	if p.Member, err = memberByID(ctx, tx, shopID, memberID); err != nil {
		return p, err
	}
	if p.Setups, err = loadSetups(ctx, tx, setupsOfMember, shopID, int64(math.MaxInt64), -1, memberID); err != nil {
		return p, err
	}
	cuts, err := queryAll(ctx, tx, cutFields, cutsOfMember, shopID, memberID)
	if err != nil {
		return p, err
	}
	for _, c := range cuts {
		p.Cuts = append(p.Cuts, storage.OwnCut{Setup: c.setup, Cut: c.Cut})
	}
	moves, err := queryAll(ctx, tx, moveFields, movesOfMember, shopID, memberID)
	if err != nil {
		return p, err
	}
	for _, m := range moves {
		p.Moves = append(p.Moves, storage.OwnMove{Setup: m.setup, Move: m.Move})
	}
	if p.CheckOffs, err = queryAll(ctx, tx, checkOffFields, checkOffsOfMember, shopID, memberID); err != nil {
		return p, err
	}
	if p.NearMisses, err = queryAll(ctx, tx, nearMissFields, nearMissesOfMember, shopID, memberID); err != nil {
		return p, err
	}
	if p.SetsTaken, err = queryAll(ctx, tx, custodyFields, custodyOfMember, shopID, memberID); err != nil {
		return p, err
	}
	loads := func(l *storage.OwnLoad) []any { return []any{&l.Setup, &l.SawID, &l.Revision, asMillis{&l.At}} }
	if p.Loads, err = queryAll(ctx, tx, loads, loadsOfMember, shopID, memberID); err != nil {
		return p, err
	}
	return p, loadConfirmations(ctx, tx, &p)
}

// loadConfirmations adds what the member confirmed, granted and kept up.
func loadConfirmations(ctx context.Context, tx *sql.Tx, p *storage.Personal) (err error) {
	shopID, memberID := p.Member.ShopID, p.Member.ID
	checks := func(c *storage.OwnCheck) []any { return []any{&c.Setup, &c.SawID, asMillis{&c.At}} }
	if p.Checks, err = queryAll(ctx, tx, checks, checksOfMember, shopID, memberID); err != nil {
		return err
	}
	marks, err := queryAll(ctx, tx, markFields, marksOfMember, shopID, memberID)
	if err != nil {
		return err
	}
	for _, m := range marks {
		p.Marks = append(p.Marks, storage.OwnMark{Setup: m.setup, Mark: m.Mark})
	}
	if p.Granted, err = queryAll(ctx, tx, checkOffFields, checkOffsBy, shopID, memberID); err != nil {
		return err
	}
	upkeep, err := queryAll(ctx, tx, upkeepFields, upkeepOfMember, shopID, memberID)
	if err != nil {
		return err
	}
	for _, u := range upkeep {
		p.Upkeep = append(p.Upkeep, u.Upkeep)
	}
	p.Cautions, err = cautionsRead(ctx, tx, shopID, memberID)
	return err
}
