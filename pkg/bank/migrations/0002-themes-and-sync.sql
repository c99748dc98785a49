-- The second form: picture and sound that belong together, what is said of a
-- theme, who set a tag and how, and suggestions that were refused.

-- How a picture reel lies on a sound reel; see Sync in the package story.
-- shift and apart are ticks; apart means nothing where timecode is 0.
CREATE TABLE sync (
  picture    TEXT    NOT NULL REFERENCES recording (key) DEFERRABLE INITIALLY DEFERRED,
  sound      TEXT    NOT NULL REFERENCES recording (key) DEFERRABLE INITIALLY DEFERRED,
  shift      INTEGER NOT NULL,
  drift_ppb  INTEGER NOT NULL,
  confidence INTEGER NOT NULL,
  told_by    TEXT    NOT NULL,
  timecode   INTEGER NOT NULL,
  apart      INTEGER NOT NULL,
  PRIMARY KEY (picture, sound)
) STRICT, WITHOUT ROWID;
CREATE INDEX sync_by_sound ON sync (sound);

CREATE TABLE about (
  theme     TEXT PRIMARY KEY REFERENCES theme (key) DEFERRABLE INITIALLY DEFERRED,
  statement TEXT NOT NULL,
  rule      TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE nest (
  theme  TEXT PRIMARY KEY REFERENCES theme (key) DEFERRABLE INITIALLY DEFERRED,
  parent TEXT NOT NULL REFERENCES theme (key) DEFERRABLE INITIALLY DEFERRED
) STRICT, WITHOUT ROWID;
CREATE INDEX nest_by_parent ON nest (parent);

CREATE TABLE refusal (
  code  TEXT NOT NULL REFERENCES quote (code) DEFERRABLE INITIALLY DEFERRED,
  theme TEXT NOT NULL REFERENCES theme (key) DEFERRABLE INITIALLY DEFERRED,
  who   TEXT NOT NULL,
  at    TEXT NOT NULL,
  PRIMARY KEY (code, theme)
) STRICT, WITHOUT ROWID;
CREATE INDEX refusal_by_theme ON refusal (theme, code);

ALTER TABLE tag ADD COLUMN who TEXT NOT NULL DEFAULT '';
ALTER TABLE tag ADD COLUMN at TEXT NOT NULL DEFAULT '';
ALTER TABLE tag ADD COLUMN how TEXT NOT NULL DEFAULT 'hand';

-- Who set the tags that are there: the last entry that put the row where it
-- was not, of those that were not taken back. What an undo put back was set by
-- the entry before.
-- The table of them is there so that a tag finds its own by key.
CREATE TABLE tagger (
  key   TEXT PRIMARY KEY,
  entry INTEGER NOT NULL
) STRICT, WITHOUT ROWID;
INSERT INTO tagger
  SELECT c.key, max(c.entry)
  FROM change AS c JOIN journal AS e ON e.entry = c.entry
  WHERE c.tbl = 'tag' AND c.before IS NULL AND e.undoes = 0
    AND NOT EXISTS (SELECT 1 FROM journal AS u WHERE u.undoes > 0 AND u.undoes = e.entry)
  GROUP BY c.key;
UPDATE tag SET
  who = coalesce((SELECT j.who FROM tagger AS s JOIN journal AS j ON j.entry = s.entry
    WHERE s.key = tag.code || char(0) || tag.theme), ''),
  at = coalesce((SELECT j.at FROM tagger AS s JOIN journal AS j ON j.entry = s.entry
    WHERE s.key = tag.code || char(0) || tag.theme), '');
DROP TABLE tagger;
