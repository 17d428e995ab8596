-- What was done to sets and saws between cuts, in the numbering of the shop's log,
-- so that a replay learns and forgets in the order in which it happened.
CREATE TABLE upkeep (
	shop_id    INTEGER NOT NULL,
	log_no     INTEGER NOT NULL CHECK (log_no > 0),
	set_id     INTEGER,
	saw_id     INTEGER,
	member_id  INTEGER NOT NULL,
	kind       TEXT    NOT NULL CHECK (kind <> ''),
	chipper_pm INTEGER NOT NULL CHECK (chipper_pm >= 0),
	at         INTEGER NOT NULL,
	PRIMARY KEY (shop_id, log_no),
	CHECK ((set_id IS NULL) <> (saw_id IS NULL)),
	FOREIGN KEY (shop_id, set_id) REFERENCES sets (shop_id, id),
	FOREIGN KEY (shop_id, saw_id) REFERENCES saws (shop_id, id),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;

-- Which shop a member's direct messages are about, where there are several.
CREATE TABLE direct_shops (
	platform   TEXT    NOT NULL CHECK (platform <> ''),
	member_key TEXT    NOT NULL CHECK (member_key <> ''),
	shop_id    INTEGER NOT NULL REFERENCES shops (id),
	PRIMARY KEY (platform, member_key)
) STRICT, WITHOUT ROWID;
