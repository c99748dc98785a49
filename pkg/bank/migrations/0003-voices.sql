-- The third form: what voices are known by, from reel to reel.

-- Measures of voices are personal data. They are not in the journal, so that
-- they can be forgotten for good. turns is a digest of the stretches that were
-- measured, so that a voice keeps its measure when its name changes; body is
-- empty for a voice that is not to be measured.
CREATE TABLE measure (
  reel  TEXT NOT NULL REFERENCES recording (key) ON DELETE CASCADE DEFERRABLE INITIALLY DEFERRED,
  turns TEXT NOT NULL,
  body  BLOB NOT NULL,
  PRIMARY KEY (reel, turns)
) STRICT, WITHOUT ROWID;

-- Two names that are known not to be one voice, folded and in order.
CREATE TABLE apart (
  one   TEXT NOT NULL,
  other TEXT NOT NULL,
  PRIMARY KEY (one, other)
) STRICT, WITHOUT ROWID;

-- Names of people whose voices are not measured any more, folded.
CREATE TABLE unmeasured (
  name TEXT PRIMARY KEY
) STRICT, WITHOUT ROWID;
