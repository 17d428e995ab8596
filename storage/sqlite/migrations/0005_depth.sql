-- What a dado is cut into, where that was told: the thickness of the panel, the
-- dado in its other face and whether the two are apart, and whether this one stops
-- short of the edge. And the depth of a test cut.
ALTER TABLE setups ADD COLUMN panel TEXT CHECK (json_valid(panel));
ALTER TABLE setups ADD COLUMN other_face TEXT CHECK (json_valid(other_face));
ALTER TABLE setups ADD COLUMN apart INTEGER NOT NULL DEFAULT 0 CHECK (apart IN (0, 1));
ALTER TABLE setups ADD COLUMN stopped INTEGER NOT NULL DEFAULT 0 CHECK (stopped IN (0, 1));
ALTER TABLE cuts ADD COLUMN depth TEXT CHECK (json_valid(depth));
