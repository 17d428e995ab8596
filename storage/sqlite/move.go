package sqlite

import (
	"context"
	"database/sql"
	"database/sql/driver"
	"fmt"

	"shimwright/storage"
)

const (
	moveColumns = `shop_id, setup, no, from_state, to_state, deed, member_id, at, word`
	insertMove  = `INSERT INTO setup_moves (` + moveColumns + `) VALUES (?, ?, ?, ?, ?, ?, ?, ?, ?)`
)

// moveRow is a row of the table setup_moves.
type moveRow struct {
	shopID, setup int64
	no            int
	storage.Move
}

func moveFields(m *moveRow) []any {
	return []any{&m.shopID, &m.setup, &m.no, &m.From, &m.To, &m.Deed, &m.MemberID, asMillis{&m.At}, &m.Word}
}

func moveRows(s *storage.Setup) []moveRow {
	rows := make([]moveRow, len(s.Moves))
	for i, m := range s.Moves {
		rows[i] = moveRow{s.ShopID, s.No, i + 1, m}
	}
	return rows
}

func selectMoves(from string) string {
	return `SELECT ` + moveColumns + ` FROM setup_moves WHERE shop_id = ?1 AND setup IN (SELECT no ` + from + `) ORDER BY setup, no`
}

// checkMoves holds that the moves after the first had lead from the state before
// to the setup's state, without a gap.
func checkMoves(before driver.Value, s storage.Setup, had int) error {
	state, _ := before.(string)
	for _, m := range s.Moves[had:] {
		if string(m.From) != state {
			return fmt.Errorf("setup %d: a move from %q where it is %q", s.No, m.From, state)
		}
		state = string(m.To)
	}
	if string(s.State) != state {
		return fmt.Errorf("setup %d: it would be %q without a move from %q", s.No, s.State, state)
	}
	return nil
}

func addMoves(ctx context.Context, tx *sql.Tx, rows []moveRow) error {
	for i := range rows {
		if _, err := tx.ExecContext(ctx, insertMove, moveFields(&rows[i])...); err != nil {
			return fmt.Errorf("add move %d: %w", rows[i].no, named(err))
		}
	}
	return nil
}
