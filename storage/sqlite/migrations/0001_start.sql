-- Lengths (*_pm) are picometres, times unix milliseconds in UTC. A zero length,
-- speed or count of teeth means "not known", as in package solver. A measure is
-- JSON, {"text","pm","unit","notation"}, and NULL where none was given.
--
-- Everything below a shop carries shop_id and refers to other records by
-- (shop_id, id), so that no record can point into another shop.

PRAGMA application_id = 0x53686d77; -- "Shmw"

CREATE TABLE shops (
	id       INTEGER PRIMARY KEY,
	key      TEXT    NOT NULL UNIQUE CHECK (key <> ''),
	name     TEXT    NOT NULL,
	created  INTEGER NOT NULL,
	settings TEXT    NOT NULL CHECK (json_valid(settings)),
	set_id   INTEGER, -- used where a command names no set
	saw_id   INTEGER,
	FOREIGN KEY (id, set_id) REFERENCES sets (shop_id, id),
	FOREIGN KEY (id, saw_id) REFERENCES saws (shop_id, id)
) STRICT;

CREATE TABLE members (
	id      INTEGER PRIMARY KEY,
	shop_id INTEGER NOT NULL REFERENCES shops (id),
	key     TEXT    NOT NULL CHECK (key <> ''),
	name    TEXT    NOT NULL,
	style   TEXT    CHECK (style IN ('in decimal', 'in fraction', 'mm decimal', 'mm fraction')), -- NULL: as the shop writes
	UNIQUE (shop_id, key),
	UNIQUE (shop_id, id)
) STRICT;

CREATE TABLE sets (
	id             INTEGER PRIMARY KEY,
	shop_id        INTEGER NOT NULL REFERENCES shops (id),
	name           TEXT    NOT NULL CHECK (name <> ''),
	name_key       TEXT    NOT NULL, -- the name without regard to case
	generic        INTEGER NOT NULL CHECK (generic IN (0, 1)),
	retired        INTEGER NOT NULL CHECK (retired IN (0, 1)),
	kind           TEXT    NOT NULL CHECK (kind IN ('stacked', 'blade')),
	unit           TEXT    NOT NULL CHECK (unit IN ('in', 'mm')),
	diameter_pm    INTEGER NOT NULL CHECK (diameter_pm >= 0),
	max_rpm        INTEGER NOT NULL CHECK (max_rpm >= 0),
	max_width_pm   INTEGER NOT NULL CHECK (max_width_pm >= 0),
	gap_chipper_pm INTEGER NOT NULL CHECK (gap_chipper_pm >= 0),
	gap_bare_pm    INTEGER NOT NULL CHECK (gap_bare_pm >= 0),
	gap_count      INTEGER NOT NULL CHECK (gap_count >= 0),
	soft_ok        INTEGER NOT NULL CHECK (soft_ok IN (0, 1)),
	UNIQUE (shop_id, id)
) STRICT;
CREATE UNIQUE INDEX sets_in_use ON sets (shop_id, name_key) WHERE retired = 0;

-- One row for the outer pair (count 1), for each chipper size and each shim size.
CREATE TABLE pieces (
	set_id         INTEGER NOT NULL REFERENCES sets (id),
	kind           TEXT    NOT NULL CHECK (kind IN ('outer', 'chipper', 'shim')),
	nominal_pm     INTEGER NOT NULL CHECK (nominal_pm > 0),
	measured_pm    INTEGER NOT NULL CHECK (measured_pm >= 0),
	plate_pm       INTEGER NOT NULL CHECK (plate_pm >= 0),
	tooth_pm       INTEGER NOT NULL CHECK (tooth_pm >= 0),
	teeth          INTEGER NOT NULL CHECK (teeth >= 0),
	material       TEXT    NOT NULL,
	count          INTEGER NOT NULL CHECK (count >= 0),
	out_of_service INTEGER NOT NULL CHECK (out_of_service BETWEEN 0 AND count),
	PRIMARY KEY (set_id, kind, nominal_pm)
) STRICT, WITHOUT ROWID;
CREATE UNIQUE INDEX one_outer_pair ON pieces (set_id) WHERE kind = 'outer';

CREATE TABLE saws (
	id          INTEGER PRIMARY KEY,
	shop_id     INTEGER NOT NULL REFERENCES shops (id),
	name        TEXT    NOT NULL CHECK (name <> ''),
	name_key    TEXT    NOT NULL,
	generic     INTEGER NOT NULL CHECK (generic IN (0, 1)),
	retired     INTEGER NOT NULL CHECK (retired IN (0, 1)),
	unit        TEXT    NOT NULL CHECK (unit IN ('in', 'mm')),
	arbor_pm    INTEGER NOT NULL CHECK (arbor_pm >= 0),
	insert_pm   INTEGER NOT NULL CHECK (insert_pm >= 0),
	largest_pm  INTEGER NOT NULL CHECK (largest_pm >= 0),
	smallest_pm INTEGER NOT NULL CHECK (smallest_pm >= 0),
	rpm         INTEGER NOT NULL CHECK (rpm >= 0),
	nut         TEXT    NOT NULL CHECK (nut IN ('', 'left', 'right')),
	flange      TEXT    NOT NULL,
	fence       TEXT    NOT NULL,
	brake       INTEGER NOT NULL CHECK (brake IN (0, 1)),
	no_stack    INTEGER NOT NULL CHECK (no_stack IN (0, 1)),
	UNIQUE (shop_id, id)
) STRICT;
CREATE UNIQUE INDEX saws_in_use ON saws (shop_id, name_key) WHERE retired = 0;

-- Which states there are and who may move a setup between them is a table in
-- code; here a state is only never empty.
CREATE TABLE setups (
	shop_id     INTEGER NOT NULL,
	no          INTEGER NOT NULL CHECK (no > 0), -- counts up within the shop
	member_id   INTEGER NOT NULL,
	set_id      INTEGER NOT NULL,
	saw_id      INTEGER NOT NULL,
	joint       TEXT    NOT NULL CHECK (joint IN ('dado', 'groove', 'rabbet', 'gauge')),
	readings    TEXT    NOT NULL CHECK (json_type(readings) = 'array'), -- of measures
	width       TEXT    CHECK (json_valid(width)),
	depth       TEXT    CHECK (json_valid(depth)),
	aim         TEXT    CHECK (json_valid(aim)),
	style       TEXT    NOT NULL CHECK (style IN ('in decimal', 'in fraction', 'mm decimal', 'mm fraction')),
	grades      TEXT    NOT NULL CHECK (json_valid(grades)),
	interaction TEXT    CHECK (interaction <> ''),
	created     INTEGER NOT NULL,
	state       TEXT    NOT NULL CHECK (state <> ''),
	loaded      INTEGER NOT NULL CHECK (loaded >= 0), -- revision of the stack on the saw
	PRIMARY KEY (shop_id, no),
	UNIQUE (shop_id, interaction),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id),
	FOREIGN KEY (shop_id, set_id) REFERENCES sets (shop_id, id),
	FOREIGN KEY (shop_id, saw_id) REFERENCES saws (shop_id, id)
) STRICT;
CREATE INDEX setups_of_member ON setups (shop_id, member_id, no);

-- Every stack advised or cut for a setup; never changed once written.
CREATE TABLE stacks (
	shop_id   INTEGER NOT NULL,
	setup     INTEGER NOT NULL,
	revision  INTEGER NOT NULL CHECK (revision >= 0),
	stack     TEXT    NOT NULL CHECK (json_valid(stack)), -- the parts in loading order
	offset_pm INTEGER NOT NULL,
	sd_pm     INTEGER NOT NULL CHECK (sd_pm >= 0),
	chance    REAL    NOT NULL CHECK (chance BETWEEN 0 AND 1),
	passes    INTEGER NOT NULL CHECK (passes > 0),
	move_pm   INTEGER NOT NULL CHECK (move_pm >= 0),
	target_pm INTEGER NOT NULL CHECK (target_pm >= 0), -- of one dado of a gauge board
	PRIMARY KEY (shop_id, setup, revision),
	FOREIGN KEY (shop_id, setup) REFERENCES setups (shop_id, no)
) STRICT, WITHOUT ROWID;

-- The parts of a set as they were when a cut was logged, so that the log can be
-- learned from anew: one row for each state of a set that was cut with.
CREATE TABLE set_versions (
	id     INTEGER PRIMARY KEY,
	set_id INTEGER NOT NULL REFERENCES sets (id),
	parts  TEXT    NOT NULL CHECK (json_valid(parts))
) STRICT;
CREATE INDEX versions_of_set ON set_versions (set_id, id);

-- The shop's log of test cuts: log_no counts up within the shop, no within the
-- setup. How a cut came out is never changed; it can be voided, and a
-- measurement can be added.
CREATE TABLE cuts (
	shop_id     INTEGER NOT NULL,
	log_no      INTEGER NOT NULL CHECK (log_no > 0),
	set_version INTEGER NOT NULL REFERENCES set_versions (id),
	setup       INTEGER NOT NULL,
	no          INTEGER NOT NULL CHECK (no > 0),
	revision    INTEGER NOT NULL,
	loading     INTEGER NOT NULL CHECK (loading >= 0),
	member_id   INTEGER NOT NULL,
	feel        TEXT    NOT NULL,
	slips       INTEGER CHECK (slips >= 0),
	note        TEXT    NOT NULL,
	interaction TEXT    CHECK (interaction <> ''),
	at          INTEGER NOT NULL,
	floor       TEXT    CHECK (json_valid(floor)),
	mouth       TEXT    CHECK (json_valid(mouth)),
	piece       TEXT    CHECK (json_valid(piece)),
	grade       TEXT    NOT NULL,
	odd         INTEGER NOT NULL CHECK (odd IN (0, 1)),
	voided      INTEGER NOT NULL CHECK (voided IN (0, 1)),
	PRIMARY KEY (shop_id, log_no),
	UNIQUE (shop_id, setup, no),
	UNIQUE (shop_id, interaction),
	FOREIGN KEY (shop_id, setup, revision) REFERENCES stacks (shop_id, setup, revision),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT;

-- What was learned from a shop's log, as package solver keeps it.
CREATE TABLE beliefs (
	shop_id INTEGER PRIMARY KEY REFERENCES shops (id),
	model   INTEGER NOT NULL, -- solver.BeliefVersion that wrote it
	belief  TEXT    NOT NULL CHECK (json_valid(belief))
) STRICT;
