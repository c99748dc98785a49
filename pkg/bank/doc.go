// Package bank keeps the story bank: the folder with everything known of one
// film's talk, its recordings, quotes, themes, selects and the journal of
// every change.
//
// It doesn't read sound or transcripts, search text, or decide which old
// quote a corrected one continues: it stores what it is given, whole or not
// at all, and gives it back. All SQL of the project is here.
//
// A bank is a folder that holds bank.db, an SQLite database in WAL mode. Any
// number of programs may read while one writes; a second writer waits for
// Options.BusyTimeout. The reasons for the tables and the journal are in
// docs/decisions/0001-bank-and-journal.md and 0002-migrations.md. SQLite's
// file format and pragmas: https://www.sqlite.org/fileformat2.html, pragma.html
// and wal.html, read for this project's rules on locks and read-only files.
package bank
