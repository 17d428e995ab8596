-- The review looks for saws that were taken down without power off confirmed: marks
-- 'unconfirmed' of no cut.
CREATE INDEX marks_of_taking_down ON setup_marks (shop_id, at) WHERE kind = 'unconfirmed' AND cut = 0;
