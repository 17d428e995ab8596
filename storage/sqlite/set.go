package sqlite

import (
	"context"
	"database/sql"
	"errors"
	"fmt"

	"shimwright/solver"
	"shimwright/storage"
)

const (
	setColumns = `shop_id, name, name_key, generic, retired, kind, unit,
		diameter_pm, max_rpm, max_width_pm, gap_chipper_pm, gap_bare_pm, gap_count, soft_ok`
	insertSet = `INSERT INTO sets (` + setColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) RETURNING id`
	updateSet = `UPDATE sets SET (` + setColumns + `) = (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?) WHERE shop_id = ? AND id = ?`

	setsInUse  = `FROM sets WHERE shop_id = ? AND retired = 0`
	setByID    = `FROM sets WHERE shop_id = ? AND id = ?`
	setsOfShop = `FROM sets WHERE shop_id = ?`

	pieceColumns = `set_id, kind, nominal_pm, measured_pm, plate_pm, tooth_pm, teeth, material, count, out_of_service`
	insertPiece  = `INSERT INTO pieces (` + pieceColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
)

func setFields(s *storage.Set) []any {
	p := &s.Parts
	return []any{
		&s.ShopID, &s.Name,
		asFolded{&s.Name},
		&s.Generic, &s.Retired, &p.Kind,
		asUnit{&p.Unit},
		&p.Diameter, &p.MaxRPM, &p.MaxWidth, &p.Gap.Chipper, &p.Gap.Bare, &p.Gap.Count, &p.SoftOK,
	}
}

// piece is a row of the table of that name.
type piece struct {
	setID                           int64
	kind                            string
	nominal, measured, plate, tooth solver.Length
	teeth, count, out               int
	material                        solver.Material
}

func pieceFields(p *piece) []any {
	return []any{&p.setID, &p.kind, &p.nominal, &p.measured, &p.plate, &p.tooth, &p.teeth, &p.material, &p.count, &p.out}
}

func piecesOf(s storage.Set) []piece {
	o := s.Parts.Outer
	pair := piece{kind: "outer", nominal: o.Nominal, measured: o.Measured, plate: o.Plate, tooth: o.Tooth, teeth: o.Teeth, count: 1}
	if o.Out {
		pair.out = 1
	}
	all := []piece{pair}
	for _, c := range s.Parts.Chippers {
		all = append(all, piece{
			kind: "chipper", nominal: c.Nominal, measured: c.Measured, tooth: c.Tooth, teeth: c.Teeth, count: c.Count, out: c.Out,
		})
	}
	for _, sh := range s.Parts.Shims {
		all = append(all, piece{
			kind: "shim", nominal: sh.Nominal, measured: sh.Measured, material: sh.Material, count: sh.Count, out: sh.Out,
		})
	}
	return all
}

func (p piece) addTo(s *solver.Set) {
	switch p.kind {
	case "outer":
		s.Outer = solver.OuterPair{
			Nominal: p.nominal, Measured: p.measured, Plate: p.plate, Tooth: p.tooth, Teeth: p.teeth, Out: p.out > 0,
		}
	case "chipper":
		s.Chippers = append(s.Chippers, solver.Chipper{
			Nominal: p.nominal, Measured: p.measured, Tooth: p.tooth, Teeth: p.teeth, Count: p.count, Out: p.out,
		})
	case "shim":
		s.Shims = append(s.Shims, solver.Shim{
			Nominal: p.nominal, Measured: p.measured, Material: p.material, Count: p.count, Out: p.out,
		})
	}
}

func selectSets(from string) string {
	return `SELECT id, ` + setColumns + ` ` + from + ` ORDER BY name_key, id`
}

func selectPieces(from string) string {
	return `SELECT ` + pieceColumns + ` FROM pieces WHERE set_id IN (SELECT id ` + from + `) ORDER BY set_id, kind, nominal_pm DESC`
}

// loadSets loads the sets that the clause from finds, by name, with their pieces.
func loadSets(ctx context.Context, tx *sql.Tx, from string, args ...any) ([]storage.Set, error) {
	fields := func(s *storage.Set) []any { return append([]any{&s.ID}, setFields(s)...) }
	sets, err := queryAll(ctx, tx, fields, selectSets(from), args...)
	if err != nil {
		return nil, err
	}
	pieces, err := queryAll(ctx, tx, pieceFields, selectPieces(from), args...)
	if err != nil {
		return nil, err
	}
	at := make(map[int64]*storage.Set, len(sets))
	for i := range sets {
		at[sets[i].ID] = &sets[i]
	}
	for _, p := range pieces {
		p.addTo(&at[p.setID].Parts)
	}
	return sets, nil
}

// Sets are the shop's sets and blades that are not retired, by name.
func (db *DB) Sets(ctx context.Context, shopID int64) (sets []storage.Set, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		sets, err = loadSets(ctx, tx, setsInUse, shopID)
		return err
	})
	return sets, err
}

// SetByID is a set of the shop, retired or not.
func (db *DB) SetByID(ctx context.Context, shopID, id int64) (set storage.Set, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		set, err = only(loadSets(ctx, tx, setByID, shopID, id))
		return err
	})
	return set, err
}

// AddSet adds a set to the shop set.ShopID and gives it its id. A name that is
// taken is storage.ErrConflict.
func (db *DB) AddSet(ctx context.Context, set storage.Set) (added storage.Set, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		added, err = addSet(ctx, tx, set)
		return err
	})
	return added, err
}

func addSet(ctx context.Context, tx *sql.Tx, set storage.Set) (storage.Set, error) {
	if err := tx.QueryRowContext(ctx, insertSet, setFields(&set)...).Scan(&set.ID); err != nil {
		return storage.Set{}, fmt.Errorf("add set: %w", named(err))
	}
	return savePieces(ctx, tx, set)
}

// UpdateSet changes everything of a set but its id and shop. A name that is
// taken is storage.ErrConflict, also for a set that comes out of retirement.
func (db *DB) UpdateSet(ctx context.Context, shopID, id int64, change func(*storage.Set) error) (set storage.Set, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		set, err = only(loadSets(ctx, tx, setByID, shopID, id))
		if err != nil {
			return err
		}
		if err := change(&set); err != nil {
			return err
		}
		if set.ID != id || set.ShopID != shopID {
			return errors.New("a set's id and shop never change")
		}
		if _, err := tx.ExecContext(ctx, updateSet, append(setFields(&set), shopID, id)...); err != nil {
			return fmt.Errorf("save set: %w", named(err))
		}
		set, err = savePieces(ctx, tx, set)
		return err
	})
	return set, err
}

// savePieces puts the set's pieces in place of those on record, and loads the whole set.
func savePieces(ctx context.Context, tx *sql.Tx, set storage.Set) (storage.Set, error) {
	if _, err := tx.ExecContext(ctx, `DELETE FROM pieces WHERE set_id = ?`, set.ID); err != nil {
		return storage.Set{}, err
	}
	for _, p := range piecesOf(set) {
		p.setID = set.ID
		if _, err := tx.ExecContext(ctx, insertPiece, pieceFields(&p)...); err != nil {
			return storage.Set{}, fmt.Errorf("save %s of %d pm: %w", p.kind, p.nominal, err)
		}
	}
	return only(loadSets(ctx, tx, setByID, set.ShopID, set.ID))
}
