-- The fourth form: which voices were compared with those of other reels, by
-- the turns that were measured. Unlike the measures it is in the journal: who
-- takes back a comparison takes back that its names count in the whole film.
-- Nothing is compared of a reel that isn't there, but undo may take a reel
-- whose rows no entry made: so reel refers to nothing.
CREATE TABLE compared (
  reel  TEXT NOT NULL,
  turns TEXT NOT NULL,
  PRIMARY KEY (reel, turns)
) STRICT, WITHOUT ROWID;

INSERT INTO compared SELECT reel, turns FROM measure;
