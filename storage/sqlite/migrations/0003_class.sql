-- The class: who may use what, what is reported, what is each member's own.

ALTER TABLE members ADD COLUMN minor  INTEGER NOT NULL DEFAULT 0 CHECK (minor IN (0, 1));
ALTER TABLE members ADD COLUMN erased INTEGER NOT NULL DEFAULT 0 CHECK (erased IN (0, 1)); -- name and key are blanked
ALTER TABLE members ADD COLUMN seen   TEXT    NOT NULL DEFAULT ''; -- the last day (UTC) of a command; '': before that was noted

ALTER TABLE setups ADD COLUMN project     TEXT NOT NULL DEFAULT '';
ALTER TABLE setups ADD COLUMN project_key TEXT NOT NULL DEFAULT ''; -- without regard to case
ALTER TABLE setups ADD COLUMN lot         TEXT NOT NULL DEFAULT '';
ALTER TABLE setups ADD COLUMN lot_key     TEXT NOT NULL DEFAULT '';
CREATE INDEX setups_of_lot     ON setups (shop_id, lot_key, no)     WHERE lot_key <> '';
CREATE INDEX setups_of_project ON setups (shop_id, project_key, no) WHERE project_key <> '';

CREATE INDEX cuts_of_member ON cuts (shop_id, member_id, log_no);

-- Who was checked off for the stacked set on which saw, and when that was
-- withdrawn: the newest row of a member and a saw counts. Rows only ever come.
CREATE TABLE checkoffs (
	id        INTEGER PRIMARY KEY,
	shop_id   INTEGER NOT NULL,
	member_id INTEGER NOT NULL,
	saw_id    INTEGER NOT NULL,
	granted   INTEGER NOT NULL CHECK (granted IN (0, 1)),
	until     TEXT    NOT NULL, -- the last day, 2026-06-30, in the shop's zone; '': no end
	by_id     INTEGER NOT NULL, -- the instructor
	at        INTEGER NOT NULL,
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id),
	FOREIGN KEY (shop_id, by_id) REFERENCES members (shop_id, id),
	FOREIGN KEY (shop_id, saw_id) REFERENCES saws (shop_id, id)
) STRICT;
CREATE INDEX checkoffs_of_member ON checkoffs (shop_id, member_id, saw_id, id);

-- Notes to the instructors about what nearly went wrong.
CREATE TABLE near_misses (
	shop_id     INTEGER NOT NULL,
	no          INTEGER NOT NULL CHECK (no > 0), -- counts up within the shop
	member_id   INTEGER NOT NULL,
	at          INTEGER NOT NULL,
	note        TEXT    NOT NULL, -- blank once erased
	interaction TEXT    CHECK (interaction <> ''),
	PRIMARY KEY (shop_id, no),
	UNIQUE (shop_id, interaction),
	FOREIGN KEY (shop_id, member_id) REFERENCES members (shop_id, id)
) STRICT, WITHOUT ROWID;

-- Work that is done once for a shop and a day, however many processes there are.
CREATE TABLE claims (
	shop_id INTEGER NOT NULL REFERENCES shops (id),
	job     TEXT    NOT NULL CHECK (job <> ''),
	day     TEXT    NOT NULL,
	PRIMARY KEY (shop_id, job, day)
) STRICT, WITHOUT ROWID;

-- Reports read tallies: one row for a shop, a member and a day, kept by triggers
-- from figures, which has one row for each setup that tests a fit. Whoever writes
-- a setup or a cut writes its figures anew from figures_now, which defines them.
--   cuts        test cuts that count (not voided)
--   to_snug     which of them was the first snug one; NULL: none was
--   first_snug  1: the first of them was snug
--   play        groove less stock of the last one that was measured, in 100 nm; NULL: none was
--   thicker ..  what was changed after a cut that was not snug, as the next cut shows:
--               shims added, shims taken out, other chippers, the stop moved, nothing
CREATE VIEW figures_now AS
SELECT s.shop_id, s.no AS setup, s.member_id, date(s.created / 1000, 'unixepoch') AS day,
	count(c.no) AS cuts,
	min(CASE WHEN c.grade = 'snug' THEN c.nth END) AS to_snug,
	coalesce(max(c.nth = 1 AND c.grade = 'snug'), 0) AS first_snug,
	(SELECT CAST(round((m.floor ->> 'pm' - coalesce(m.piece ->> 'pm',
			(SELECT (max(value ->> 'pm') + min(value ->> 'pm')) / 2 FROM json_each(s.readings)))) / 100000.0) AS INTEGER)
		FROM cuts m WHERE m.shop_id = s.shop_id AND m.setup = s.no AND m.voided = 0 AND m.floor IS NOT NULL AND s.joint <> 'rabbet'
		ORDER BY m.no DESC LIMIT 1) AS play,
	coalesce(sum(c.remedy = 'thicker'), 0) AS thicker,
	coalesce(sum(c.remedy = 'thinner'), 0) AS thinner,
	coalesce(sum(c.remedy = 'chipper'), 0) AS chipper,
	coalesce(sum(c.remedy = 'stop'), 0) AS stop,
	coalesce(sum(c.remedy = 'same'), 0) AS same
FROM setups s LEFT JOIN (
	SELECT n.*, CASE
		WHEN n.next IS NULL OR n.grade = 'snug' THEN NULL
		WHEN n.next = n.revision THEN 'same'
		ELSE (SELECT CASE
			WHEN a.passes <> b.passes OR a.move_pm <> b.move_pm THEN 'stop'
			WHEN (SELECT count(*) || ' ' || coalesce(group_concat(size), '') FROM (SELECT value ->> 'size' AS size FROM json_each(a.stack, '$.chippers') ORDER BY 1))
				<> (SELECT count(*) || ' ' || coalesce(group_concat(size), '') FROM (SELECT value ->> 'size' AS size FROM json_each(b.stack, '$.chippers') ORDER BY 1)) THEN 'chipper'
			ELSE (SELECT CASE sign(sum(shim)) WHEN 1 THEN 'thicker' WHEN -1 THEN 'thinner' ELSE 'same' END FROM (
				SELECT p.value ->> 'size' AS shim FROM json_each(b.stack, '$.gaps') g, json_each(g.value) p
				UNION ALL SELECT -(p.value ->> 'size') FROM json_each(a.stack, '$.gaps') g, json_each(g.value) p))
			END
			FROM stacks a, stacks b
			WHERE a.shop_id = n.shop_id AND a.setup = n.setup AND a.revision = n.revision
				AND b.shop_id = n.shop_id AND b.setup = n.setup AND b.revision = n.next)
		END AS remedy
	FROM (
		SELECT x.shop_id, x.setup, x.no, x.grade, x.revision,
			(SELECT count(*) FROM cuts y WHERE y.shop_id = x.shop_id AND y.setup = x.setup AND y.no <= x.no AND y.voided = 0) AS nth,
			(SELECT y.revision FROM cuts y WHERE y.shop_id = x.shop_id AND y.setup = x.setup AND y.no > x.no AND y.voided = 0 ORDER BY y.no LIMIT 1) AS next
		FROM cuts x WHERE x.voided = 0
	) n
) c ON c.shop_id = s.shop_id AND c.setup = s.no
WHERE s.joint IN ('dado', 'groove', 'rabbet')
GROUP BY s.shop_id, s.no;

CREATE TABLE figures (
	shop_id    INTEGER NOT NULL,
	setup      INTEGER NOT NULL,
	member_id  INTEGER NOT NULL,
	day        TEXT    NOT NULL, -- it was made on, in the zone that the shop had then
	cuts       INTEGER NOT NULL,
	to_snug    INTEGER,
	first_snug INTEGER NOT NULL,
	play       INTEGER,
	thicker    INTEGER NOT NULL,
	thinner    INTEGER NOT NULL,
	chipper    INTEGER NOT NULL,
	stop       INTEGER NOT NULL,
	same       INTEGER NOT NULL,
	PRIMARY KEY (shop_id, setup)
) STRICT, WITHOUT ROWID;

CREATE TABLE tallies (
	shop_id    INTEGER NOT NULL,
	member_id  INTEGER NOT NULL,
	week       TEXT    NOT NULL, -- the Monday of the day: a report by weeks reads the rows in order
	day        TEXT    NOT NULL,
	setups     INTEGER NOT NULL,
	tried      INTEGER NOT NULL, -- setups with a cut
	cuts       INTEGER NOT NULL,
	snug       INTEGER NOT NULL, -- setups with a snug cut
	to_snug    INTEGER NOT NULL, -- over those
	first_snug INTEGER NOT NULL,
	plays      INTEGER NOT NULL, -- setups with a play, its sum and that of its squares
	play_sum   INTEGER NOT NULL,
	play_sq    INTEGER NOT NULL,
	thicker    INTEGER NOT NULL,
	thinner    INTEGER NOT NULL,
	chipper    INTEGER NOT NULL,
	stop       INTEGER NOT NULL,
	same       INTEGER NOT NULL,
	PRIMARY KEY (shop_id, member_id, week, day)
) STRICT, WITHOUT ROWID;

CREATE TRIGGER figures_in AFTER INSERT ON figures BEGIN
	INSERT INTO tallies VALUES (new.shop_id, new.member_id, date(new.day, 'weekday 0', '-6 days'), new.day,
		1, new.cuts > 0, new.cuts, new.to_snug IS NOT NULL, coalesce(new.to_snug, 0), new.first_snug,
		new.play IS NOT NULL, coalesce(new.play, 0), coalesce(new.play * new.play, 0),
		new.thicker, new.thinner, new.chipper, new.stop, new.same)
	ON CONFLICT DO UPDATE SET setups = setups + excluded.setups, tried = tried + excluded.tried, cuts = cuts + excluded.cuts,
		snug = snug + excluded.snug, to_snug = to_snug + excluded.to_snug, first_snug = first_snug + excluded.first_snug,
		plays = plays + excluded.plays, play_sum = play_sum + excluded.play_sum, play_sq = play_sq + excluded.play_sq,
		thicker = thicker + excluded.thicker, thinner = thinner + excluded.thinner, chipper = chipper + excluded.chipper,
		stop = stop + excluded.stop, same = same + excluded.same;
END;
CREATE TRIGGER figures_out AFTER DELETE ON figures BEGIN
	UPDATE tallies SET setups = setups - 1, tried = tried - (old.cuts > 0), cuts = cuts - old.cuts,
		snug = snug - (old.to_snug IS NOT NULL), to_snug = to_snug - coalesce(old.to_snug, 0), first_snug = first_snug - old.first_snug,
		plays = plays - (old.play IS NOT NULL), play_sum = play_sum - coalesce(old.play, 0), play_sq = play_sq - coalesce(old.play * old.play, 0),
		thicker = thicker - old.thicker, thinner = thinner - old.thinner, chipper = chipper - old.chipper,
		stop = stop - old.stop, same = same - old.same
	WHERE shop_id = old.shop_id AND member_id = old.member_id AND week = date(old.day, 'weekday 0', '-6 days') AND day = old.day;
END;

INSERT INTO figures SELECT * FROM figures_now; -- no shop had a zone before
