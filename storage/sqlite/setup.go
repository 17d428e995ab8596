package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"errors"
	"fmt"
	"math"
	"slices"
	"time"

	"shimwright/storage"
)

const (
	// state, loaded and done come last: they alone change.
	setupColumns = `shop_id, no, member_id, set_id, saw_id, joint, readings, width, depth, aim,
		panel, other_face, apart, stopped,
		style, grades, pieces, project, project_key, lot, lot_key, interaction, created, state, loaded, done`
	selectSetups = `SELECT ` + setupColumns + ` `
	insertSetup  = `INSERT INTO setups (` + setupColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
	moveSetup    = `UPDATE setups SET (state, loaded, done) = (?, ?, ?) WHERE shop_id = ? AND no = ?`
	nextSetup    = `SELECT coalesce(max(no), 0) + 1 FROM setups WHERE shop_id = ?`

	// ?1 is the shop in each: selectStacks and selectCuts count on it.
	setupByNo          = `FROM setups WHERE shop_id = ?1 AND no = ?2`
	setupByInteraction = `FROM setups WHERE shop_id = ?1 AND interaction = ?2`
	setupsOfShop       = `FROM setups WHERE shop_id = ?1 AND no < ?2 ORDER BY no DESC LIMIT ?3`
	setupsOfMember     = `FROM setups WHERE shop_id = ?1 AND member_id = ?4 AND no < ?2 ORDER BY no DESC LIMIT ?3`
	headsOfMember      = `SELECT no, set_id, saw_id, lot, project FROM setups WHERE shop_id = ? AND member_id = ? ORDER BY no DESC LIMIT ?`
	openSetups         = `FROM setups WHERE shop_id = ?1 AND state NOT IN ('taken down', 'set aside')
		AND (state <> 'planned' OR created >= ?2 OR no IN (SELECT setup FROM saw_loads WHERE shop_id = ?1 AND ended IS NULL))
		ORDER BY no DESC LIMIT ?3`
	// Plans that were never cut pile up; of them, the one asked for, those that
	// were confirmed something of, and the one that is loaded.
	openAtSaw = `FROM setups WHERE shop_id = ?1 AND state NOT IN ('taken down', 'set aside') AND saw_id = ?2
		AND (state <> 'planned' OR no = ?3 OR EXISTS (SELECT 1 FROM setup_marks WHERE shop_id = ?1 AND setup = setups.no)
			OR no IN (SELECT setup FROM saw_loads WHERE shop_id = ?1 AND ended IS NULL))
		ORDER BY no`
	setupsOfLog = `FROM setups WHERE shop_id = ?1 AND no IN (SELECT setup FROM cuts WHERE shop_id = ?1)`

	stackColumns = `shop_id, setup, revision, stack, offset_pm, sd_pm, chance, passes, move_pm, target_pm`
	insertStack  = `INSERT INTO stacks (` + stackColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?, ?)`
)

const fixedSetupFields = 23 // of setupFields, those before state

func setupFields(s *storage.Setup) []any {
	return []any{
		&s.ShopID, &s.No, &s.MemberID, &s.SetID, &s.SawID, &s.Joint,
		asMeasures{&s.Readings},
		asMeasure{&s.Width},
		asMeasure{&s.Depth},
		asMeasure{&s.Aim},
		asMeasure{&s.Panel},
		asMeasure{&s.OtherFace},
		&s.Apart, &s.Stopped,
		asStyle{&s.Style},
		asJSON{&s.Grades},
		&s.Pieces, &s.Project,
		asFolded{&s.Project},
		&s.Lot,
		asFolded{&s.Lot},
		orNull[string]{&s.Interaction},
		asMillis{&s.Created},
		&s.State, &s.Loaded, &s.Done,
	}
}

// stackRow is a row of the table stacks.
type stackRow struct {
	shopID, setup int64
	revision      int
	storage.PlannedStack
}

func stackFields(s *stackRow) []any {
	return []any{
		&s.shopID, &s.setup, &s.revision,
		asJSON{&s.Stack},
		&s.Offset, &s.SD, &s.Chance, &s.Passes, &s.Move, &s.Target,
	}
}

func stackRows(s *storage.Setup) []stackRow {
	rows := make([]stackRow, len(s.Stacks))
	for i, p := range s.Stacks {
		rows[i] = stackRow{s.ShopID, s.No, i, p}
	}
	return rows
}

func selectStacks(from string) string {
	return `SELECT ` + stackColumns + ` FROM stacks WHERE shop_id = ?1 AND setup IN (SELECT no ` + from + `) ORDER BY setup, revision`
}

func selectCuts(from string) string {
	return `SELECT ` + cutColumns + ` FROM cuts WHERE shop_id = ?1 AND setup IN (SELECT no ` + from + `) ORDER BY setup, no`
}

// loadSetups loads the setups that the clause from finds, in its order, with
// their stacks, cuts, moves and marks.
func loadSetups(ctx context.Context, tx *sql.Tx, from string, args ...any) ([]storage.Setup, error) {
	setups, err := queryAll(ctx, tx, setupFields, selectSetups+from, args...)
	if err != nil || len(setups) == 0 {
		return nil, err
	}
	stacks, err := queryAll(ctx, tx, stackFields, selectStacks(from), args...)
	if err != nil {
		return nil, err
	}
	cuts, err := queryAll(ctx, tx, cutFields, selectCuts(from), args...)
	if err != nil {
		return nil, err
	}
	moves, err := queryAll(ctx, tx, moveFields, selectMoves(from), args...)
	if err != nil {
		return nil, err
	}
	marks, err := queryAll(ctx, tx, markFields, selectMarks(from), args...)
	if err != nil {
		return nil, err
	}
	at := make(map[int64]*storage.Setup, len(setups))
	for i := range setups {
		at[setups[i].No] = &setups[i]
	}
	for _, m := range moves {
		at[m.setup].Moves = append(at[m.setup].Moves, m.Move)
	}
	for _, m := range marks {
		at[m.setup].Marks = append(at[m.setup].Marks, m.Mark)
	}
	for _, s := range stacks {
		at[s.setup].Stacks = append(at[s.setup].Stacks, s.PlannedStack)
	}
	for _, c := range cuts {
		at[c.setup].Cuts = append(at[c.setup].Cuts, c.Cut)
	}
	return setups, nil
}

func setupAt(ctx context.Context, tx *sql.Tx, shopID, no int64) (storage.Setup, error) {
	return only(loadSetups(ctx, tx, setupByNo, shopID, no))
}

// Setup is a setup of the shop with its stacks and cuts.
func (db *DB) Setup(ctx context.Context, shopID, no int64) (s storage.Setup, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		s, err = setupAt(ctx, tx, shopID, no)
		return err
	})
	return s, err
}

// Setups are up to limit setups of a member, or of the whole shop for memberID
// 0, newest first: those with a number below before, or the newest for 0.
func (db *DB) Setups(ctx context.Context, shopID, memberID, before int64, limit int) (all []storage.Setup, err error) {
	if before == 0 {
		before = math.MaxInt64
	}
	from, args := setupsOfShop, []any{shopID, before, limit}
	if memberID != 0 {
		from, args = setupsOfMember, append(args, memberID)
	}
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = loadSetups(ctx, tx, from, args...)
		return err
	})
	return all, err
}

// OpenSetups are the shop's setups that are neither taken down nor set aside,
// newest first, at most limit of them. Of those that are only planned, and not
// on a saw, it gives those asked for since a time.
func (db *DB) OpenSetups(ctx context.Context, shopID int64, plansSince time.Time, limit int) (all []storage.Setup, err error) {
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = loadSetups(ctx, tx, openSetups, shopID, asMillis{&plansSince}, limit)
		return err
	})
	return all, err
}

// SetupHeads are the heads of up to limit setups of a member, newest first.
func (db *DB) SetupHeads(ctx context.Context, shopID, memberID int64, limit int) (all []storage.SetupHead, err error) {
	fields := func(h *storage.SetupHead) []any { return []any{&h.No, &h.SetID, &h.SawID, &h.Lot, &h.Project} }
	err = db.read(ctx, func(ctx context.Context, tx *sql.Tx) error {
		all, err = queryAll(ctx, tx, fields, headsOfMember, shopID, memberID, limit)
		return err
	})
	return all, err
}

// AddSetup adds a setup without cuts, moves and marks to the shop s.ShopID and gives it the next
// number. Where its interaction has made a setup before, nothing is written: that
// setup comes back together with storage.ErrConflict. A member, set or saw of
// another shop is storage.ErrNotFound.
func (db *DB) AddSetup(ctx context.Context, s storage.Setup) (added storage.Setup, err error) {
	if len(s.Cuts)+len(s.Moves)+len(s.Marks) > 0 {
		return storage.Setup{}, errors.New("a new setup has no cuts, no moves and no marks")
	}
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		if s.Interaction != "" {
			added, err = only(loadSetups(ctx, tx, setupByInteraction, s.ShopID, s.Interaction))
			if err == nil {
				return fmt.Errorf("setup %d: %w", added.No, storage.ErrConflict)
			}
			if !errors.Is(err, storage.ErrNotFound) {
				return err
			}
		}
		if err := tx.QueryRowContext(ctx, nextSetup, s.ShopID).Scan(&s.No); err != nil {
			return err
		}
		if err := checkLoaded(s); err != nil {
			return err
		}
		if _, err := tx.ExecContext(ctx, insertSetup, setupFields(&s)...); err != nil {
			return fmt.Errorf("add setup: %w", named(err))
		}
		if err := addStacks(ctx, tx, stackRows(&s)); err != nil {
			return err
		}
		if err := count(ctx, tx, s); err != nil {
			return err
		}
		added = s
		added.Created = time.UnixMilli(s.Created.UnixMilli()).UTC() // as it will be read
		return nil
	})
	return added, err
}

func addStacks(ctx context.Context, tx *sql.Tx, rows []stackRow) error {
	for i := range rows {
		if _, err := tx.ExecContext(ctx, insertStack, stackFields(&rows[i])...); err != nil {
			return fmt.Errorf("add stack %d: %w", rows[i].revision, err)
		}
	}
	return nil
}

func checkLoaded(s storage.Setup) error {
	if s.Loaded < 0 || s.Loaded >= max(1, len(s.Stacks)) {
		return fmt.Errorf("setup %d: stack %d cannot be loaded, there are %d", s.No, s.Loaded, len(s.Stacks))
	}
	return nil
}

// UpdateSetup changes loaded and done of a setup and appends stacks, moves and
// marks; its state changes by a move. An error of change comes back as it is.
// Anything else that change does to the setup, to a stack, a cut, a move or a
// mark is a fault, and nothing is written.
func (db *DB) UpdateSetup(ctx context.Context, shopID, no int64, change func(*storage.Setup) error) (s storage.Setup, err error) {
	err = db.write(ctx, func(ctx context.Context, tx *sql.Tx) error {
		s, err = changeSetup(ctx, tx, shopID, no, change, frozen.sameCuts)
		return err
	})
	return s, err
}

// changeSetup has a setup changed and saves it; allowed is an error where its cuts
// may not become what change made of them.
func changeSetup(
	ctx context.Context, tx *sql.Tx, shopID, no int64,
	change func(*storage.Setup) error, allowed func(before, after frozen) error,
) (storage.Setup, error) {
	var none storage.Setup
	s, err := setupAt(ctx, tx, shopID, no)
	if err != nil {
		return none, err
	}
	before, err := freeze(&s)
	if err != nil {
		return none, err
	}
	if err := change(&s); err != nil {
		return none, err
	}
	after, err := freeze(&s)
	if err != nil {
		return none, err
	}
	if err := allowed(before, after); err != nil {
		return none, err
	}
	return s, save(ctx, tx, before, after, s)
}

// frozen is a setup as its rows are written: what a change is held against.
type frozen struct {
	setup                      []driver.Value
	stacks, cuts, moves, marks [][]driver.Value
}

func freeze(s *storage.Setup) (f frozen, err error) {
	if f.setup, err = row(setupFields(s)); err != nil {
		return frozen{}, err
	}
	if f.stacks, err = freezeAll(stackRows(s), stackFields); err != nil {
		return frozen{}, err
	}
	if f.moves, err = freezeAll(moveRows(s), moveFields); err != nil {
		return frozen{}, err
	}
	if f.marks, err = freezeAll(markRows(s), markFields); err != nil {
		return frozen{}, err
	}
	for _, c := range s.Cuts {
		values, err := row(cutFields(&cutRow{Cut: c}))
		if err != nil {
			return frozen{}, err
		}
		f.cuts = append(f.cuts, values)
	}
	return f, nil
}

func freezeAll[T any](rows []T, fields func(*T) []any) (out [][]driver.Value, err error) {
	for i := range rows {
		values, err := row(fields(&rows[i]))
		if err != nil {
			return nil, err
		}
		out = append(out, values)
	}
	return out, nil
}

func (f frozen) sameCuts(after frozen) error {
	if !slices.EqualFunc(f.cuts, after.cuts, slices.Equal[[]driver.Value]) {
		return errRewritten("its cuts")
	}
	return nil
}

// errRewritten is a fault of the caller: the record only ever grows.
func errRewritten(what string) error {
	return fmt.Errorf("a change of a setup would rewrite %s", what)
}

// save writes what of the setup s may change: its state by moves, its loaded
// stack, the pieces done, and stacks, moves and marks beyond those it had.
func save(ctx context.Context, tx *sql.Tx, before, after frozen, s storage.Setup) error {
	if !slices.Equal(before.setup[:fixedSetupFields], after.setup[:fixedSetupFields]) {
		return errRewritten("what was asked")
	}
	for _, grown := range []struct {
		what        string
		before, now [][]driver.Value
	}{{"a stack", before.stacks, after.stacks}, {"a move", before.moves, after.moves}, {"a mark", before.marks, after.marks}} {
		had := len(grown.before)
		if len(grown.now) < had || !slices.EqualFunc(grown.before, grown.now[:had], slices.Equal[[]driver.Value]) {
			return errRewritten(grown.what)
		}
	}
	if err := checkLoaded(s); err != nil {
		return err
	}
	if err := checkMoves(before.setup[fixedSetupFields], s, len(before.moves)); err != nil {
		return err
	}
	if err := addStacks(ctx, tx, stackRows(&s)[len(before.stacks):]); err != nil {
		return err
	}
	if err := addMoves(ctx, tx, moveRows(&s)[len(before.moves):]); err != nil {
		return err
	}
	if err := addMarks(ctx, tx, markRows(&s)[len(before.marks):]); err != nil {
		return err
	}
	_, err := tx.ExecContext(ctx, moveSetup, append(setupFields(&s)[fixedSetupFields:], s.ShopID, s.No)...)
	return err
}
