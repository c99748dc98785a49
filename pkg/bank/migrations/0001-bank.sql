-- The first form of a story bank. Keys are natural (reel, code, theme), so
-- that rows of two parted banks can be told apart or found to be the same.
-- Keys of names hold them folded; the names as written stand beside them.
-- Times are ticks of 1/705,600,000 s; moments are RFC 3339 text, '' if none.

CREATE TABLE meta (
  key   TEXT PRIMARY KEY,
  value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE film (
  id         INTEGER PRIMARY KEY CHECK (id = 1),
  title      TEXT    NOT NULL,
  note       TEXT    NOT NULL,
  rate_num   INTEGER NOT NULL,
  rate_den   INTEGER NOT NULL,
  drop_frame INTEGER NOT NULL
) STRICT;

CREATE TABLE recording (
  key         TEXT PRIMARY KEY,
  reel        TEXT    NOT NULL,
  essence     TEXT    NOT NULL,
  path        TEXT    NOT NULL,
  bytes       INTEGER NOT NULL,
  modified    TEXT    NOT NULL,
  duration    INTEGER NOT NULL,
  sample_rate INTEGER NOT NULL,
  channels    INTEGER NOT NULL,
  encoding    TEXT    NOT NULL,
  track_names BLOB    NOT NULL,
  rate_num    INTEGER NOT NULL,
  rate_den    INTEGER NOT NULL,
  drop_frame  INTEGER NOT NULL,
  start       INTEGER NOT NULL,
  day         TEXT    NOT NULL,
  scene       TEXT    NOT NULL,
  take        TEXT    NOT NULL,
  tape        TEXT    NOT NULL,
  description TEXT    NOT NULL,
  originator  TEXT    NOT NULL,
  note        TEXT    NOT NULL,
  markers     BLOB    NOT NULL,
  unfinished  INTEGER NOT NULL,
  language    TEXT    NOT NULL,
  tr_path     TEXT    NOT NULL,
  tr_digest   TEXT    NOT NULL,
  tr_format   TEXT    NOT NULL,
  tr_encoding TEXT    NOT NULL,
  tr_bytes    INTEGER NOT NULL,
  tr_modified TEXT    NOT NULL
) STRICT, WITHOUT ROWID;

-- What was heard, without the envelope, which is large and seldom changes.
CREATE TABLE heard (
  reel     TEXT PRIMARY KEY REFERENCES recording (key) DEFERRABLE INITIALLY DEFERRED,
  version  INTEGER NOT NULL,
  duration INTEGER NOT NULL,
  speech   INTEGER NOT NULL,
  body     BLOB    NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE envelope (
  reel TEXT NOT NULL UNIQUE REFERENCES recording (key) DEFERRABLE INITIALLY DEFERRED,
  body BLOB NOT NULL
) STRICT;

-- A quote as the transcript and the sound give it.
CREATE TABLE quote (
  code     TEXT    NOT NULL UNIQUE,
  reel     TEXT    NOT NULL REFERENCES recording (key) DEFERRABLE INITIALLY DEFERRED,
  ord      INTEGER NOT NULL,
  speaker  TEXT    NOT NULL,
  tin      INTEGER NOT NULL,
  tout     INTEGER NOT NULL,
  text     TEXT    NOT NULL,
  language TEXT    NOT NULL,
  words    BLOB    NOT NULL,
  in_by    TEXT    NOT NULL,
  out_by   TEXT    NOT NULL
) STRICT;
CREATE INDEX quote_by_reel ON quote (reel, ord);

-- What people say of a quote.
CREATE TABLE mark (
  code   TEXT PRIMARY KEY REFERENCES quote (code) DEFERRABLE INITIALLY DEFERRED,
  rating INTEGER NOT NULL,
  note   TEXT    NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE theme (
  key  TEXT PRIMARY KEY,
  name TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE tag (
  code  TEXT NOT NULL REFERENCES quote (code) DEFERRABLE INITIALLY DEFERRED,
  theme TEXT NOT NULL REFERENCES theme (key) DEFERRABLE INITIALLY DEFERRED,
  PRIMARY KEY (code, theme)
) STRICT, WITHOUT ROWID;
CREATE INDEX tag_by_theme ON tag (theme, code);

-- Quotes that are gone, as they were last. Their codes are never used again.
CREATE TABLE retired (
  code       TEXT PRIMARY KEY,
  reel       TEXT    NOT NULL,
  rate_num   INTEGER NOT NULL,
  rate_den   INTEGER NOT NULL,
  drop_frame INTEGER NOT NULL,
  start      INTEGER NOT NULL,
  speaker    TEXT    NOT NULL,
  tin        INTEGER NOT NULL,
  tout       INTEGER NOT NULL,
  text       TEXT    NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE selects (
  key     TEXT PRIMARY KEY,
  name    TEXT    NOT NULL,
  target  INTEGER NOT NULL,
  next_id INTEGER NOT NULL
) STRICT, WITHOUT ROWID;

-- An item that isn't trimmed has no times of its own (0, 0).
CREATE TABLE item (
  selects TEXT    NOT NULL REFERENCES selects (key) DEFERRABLE INITIALLY DEFERRED,
  id      INTEGER NOT NULL,
  pos     INTEGER NOT NULL,
  code    TEXT    NOT NULL,
  trimmed INTEGER NOT NULL,
  tin     INTEGER NOT NULL,
  tout    INTEGER NOT NULL,
  note    TEXT    NOT NULL,
  PRIMARY KEY (selects, id)
) STRICT, WITHOUT ROWID;

-- One entry is one transaction.
CREATE TABLE journal (
  entry   INTEGER PRIMARY KEY,
  at      TEXT    NOT NULL,
  who     TEXT    NOT NULL,
  kind    TEXT    NOT NULL,
  summary TEXT    NOT NULL,
  undoes  INTEGER NOT NULL,
  changes INTEGER NOT NULL
) STRICT;
CREATE INDEX journal_by_undoes ON journal (undoes) WHERE undoes > 0;

-- The rows that an entry changed, each as it was before it; NULL if it was
-- not there. How a row was after the entry is how it was before the next one
-- that changed it, or how it is now.
CREATE TABLE change (
  entry  INTEGER NOT NULL REFERENCES journal (entry),
  tbl    TEXT    NOT NULL,
  key    TEXT    NOT NULL,
  before BLOB,
  PRIMARY KEY (entry, tbl, key)
) STRICT, WITHOUT ROWID;
