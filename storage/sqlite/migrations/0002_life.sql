-- A setup's life after it was planned, what is on each saw, who has which set,
-- and which cautions were confirmed. All of it only ever grows: a row is written
-- once, and at most closed later. What a member wrote (setup_moves.word) can be
-- blanked, the move itself cannot.

ALTER TABLE setups ADD COLUMN pieces INTEGER NOT NULL DEFAULT 0 CHECK (pieces >= 0); -- to cut; 0: not told
ALTER TABLE setups ADD COLUMN done   INTEGER NOT NULL DEFAULT 0 CHECK (done >= 0);   -- of them cut

CREATE INDEX setups_open ON setups (shop_id, no) WHERE state NOT IN ('taken down', 'set aside');

-- Every move of a setup from state to state, or from a state to itself where an
-- instructor sent it back. Who may move it is a table in code.
CREATE TABLE setup_moves (
	shop_id    INTEGER NOT NULL,
	setup      INTEGER NOT NULL,
	no         INTEGER NOT NULL CHECK (no > 0), -- counts up within the setup
	from_state TEXT    NOT NULL CHECK (from_state <> ''),
	to_state   TEXT    NOT NULL CHECK (to_state <> ''),
	deed       TEXT    NOT NULL CHECK (deed <> ''),
	member_id  INTEGER NOT NULL,
	at         INTEGER NOT NULL,
	word       TEXT    NOT NULL,
	PRIMARY KEY (shop_id, setup, no),
	FOREIGN KEY (shop_id, setup) REFERENCES setups (shop_id, no),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;
CREATE TRIGGER setup_moves_stay BEFORE DELETE ON setup_moves
BEGIN SELECT raise(ABORT, 'a move is never taken back'); END;
CREATE TRIGGER setup_moves_hold BEFORE UPDATE OF shop_id, setup, no, from_state, to_state, deed, member_id, at ON setup_moves
BEGIN SELECT raise(ABORT, 'a move is never rewritten'); END;

-- Cautions confirmed for a setup, and cuts logged without: 'power-off' (of the
-- stack with that revision), 'unconfirmed' and 'unchecked' (of that cut).
CREATE TABLE setup_marks (
	shop_id   INTEGER NOT NULL,
	setup     INTEGER NOT NULL,
	no        INTEGER NOT NULL CHECK (no > 0), -- counts up within the setup
	kind      TEXT    NOT NULL CHECK (kind IN ('power-off', 'unconfirmed', 'unchecked')),
	revision  INTEGER NOT NULL CHECK (revision >= 0),
	cut       INTEGER NOT NULL CHECK (cut >= 0),
	member_id INTEGER NOT NULL,
	at        INTEGER NOT NULL,
	PRIMARY KEY (shop_id, setup, no),
	FOREIGN KEY (shop_id, setup) REFERENCES setups (shop_id, no),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;

-- When a member last had the whole list of cautions.
CREATE TABLE cautions_read (
	shop_id   INTEGER NOT NULL,
	member_id INTEGER NOT NULL,
	at        INTEGER NOT NULL,
	PRIMARY KEY (shop_id, member_id),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;

-- What was on which saw, from when until when. At most one stack is on a saw.
CREATE TABLE saw_loads (
	shop_id   INTEGER NOT NULL,
	no        INTEGER NOT NULL CHECK (no > 0), -- counts up within the shop
	saw_id    INTEGER NOT NULL,
	set_id    INTEGER NOT NULL,
	setup     INTEGER NOT NULL, -- that it was loaded for; others may use it too
	revision  INTEGER NOT NULL,
	stack     TEXT    NOT NULL CHECK (json_valid(stack)),
	member_id INTEGER NOT NULL, -- who loaded it
	at        INTEGER NOT NULL,
	ended     INTEGER, -- NULL: it is on the saw now
	ended_by  INTEGER,
	PRIMARY KEY (shop_id, no),
	CHECK ((ended IS NULL) = (ended_by IS NULL)),
	FOREIGN KEY (shop_id, saw_id) REFERENCES saws (shop_id, id),
	FOREIGN KEY (shop_id, set_id) REFERENCES sets (shop_id, id),
	FOREIGN KEY (shop_id, setup, revision) REFERENCES stacks (shop_id, setup, revision),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id),
	FOREIGN KEY (shop_id, ended_by) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX one_load_on_a_saw ON saw_loads (shop_id, saw_id) WHERE ended IS NULL;

-- Who looked a loaded stack over before using it, other than who loaded it.
CREATE TABLE load_checks (
	shop_id   INTEGER NOT NULL,
	load      INTEGER NOT NULL,
	no        INTEGER NOT NULL CHECK (no > 0), -- counts up within the load
	member_id INTEGER NOT NULL,
	at        INTEGER NOT NULL,
	PRIMARY KEY (shop_id, load, no),
	UNIQUE (shop_id, load, member_id),
	FOREIGN KEY (shop_id, load) REFERENCES saw_loads (shop_id, no),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;

-- Who had which set, from when until when. A set is with one member at most.
CREATE TABLE set_custody (
	shop_id   INTEGER NOT NULL,
	no        INTEGER NOT NULL CHECK (no > 0), -- counts up within the shop
	set_id    INTEGER NOT NULL,
	member_id INTEGER NOT NULL,
	at        INTEGER NOT NULL,
	ended     INTEGER, -- NULL: the member has it now
	ended_by  INTEGER,
	PRIMARY KEY (shop_id, no),
	CHECK ((ended IS NULL) = (ended_by IS NULL)),
	FOREIGN KEY (shop_id, set_id) REFERENCES sets (shop_id, id),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id),
	FOREIGN KEY (shop_id, ended_by) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX one_holder_of_a_set ON set_custody (shop_id, set_id) WHERE ended IS NULL;
