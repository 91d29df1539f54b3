-- +goose Up

-- Times are whole microseconds since 1970-01-01 UTC, masses whole milligrams.
-- folded is the name as store.Fold has it, for searching and sorting.

-- The counter gives out every rev, once, over all tables.
CREATE TABLE counter (
    one INTEGER PRIMARY KEY CHECK (one = 1),
    rev INTEGER NOT NULL
) STRICT;
INSERT INTO counter (one, rev) VALUES (1, 0);

CREATE TABLE setting (
    name  TEXT PRIMARY KEY,
    value TEXT NOT NULL
) STRICT, WITHOUT ROWID;

CREATE TABLE feeding_group (
    id       TEXT PRIMARY KEY,
    rev      INTEGER NOT NULL,
    name     TEXT NOT NULL,
    folded   TEXT NOT NULL,
    species  TEXT NOT NULL,
    stage    TEXT NOT NULL,
    born     TEXT NOT NULL,
    animals  INTEGER NOT NULL,
    note     TEXT NOT NULL,
    windows  TEXT NOT NULL,
    archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
    changed  INTEGER NOT NULL
) STRICT;
CREATE INDEX feeding_group_by_name ON feeding_group (folded, name, id);

CREATE TABLE shelf (
    id      TEXT PRIMARY KEY,
    rev     INTEGER NOT NULL,
    name    TEXT NOT NULL,
    folded  TEXT NOT NULL,
    place   TEXT NOT NULL,
    note    TEXT NOT NULL,
    own     TEXT NOT NULL,
    changed INTEGER NOT NULL
) STRICT;
CREATE INDEX shelf_by_name ON shelf (folded, name, id);

-- at is the place of the item on its shelf, from 0 up.
CREATE TABLE shelf_item (
    shelf     TEXT NOT NULL REFERENCES shelf (id) ON DELETE CASCADE,
    at        INTEGER NOT NULL,
    ref       TEXT NOT NULL,
    can_have  INTEGER NOT NULL CHECK (can_have IN (0, 1)),
    on_hand   INTEGER,
    price     REAL,
    pack_mg   INTEGER,
    pack_cost REAL,
    note      TEXT NOT NULL,
    PRIMARY KEY (shelf, at)
) STRICT, WITHOUT ROWID;

-- The document of a mix is its step number at. Undo and redo move at between
-- oldest and newest.
CREATE TABLE mix (
    id       TEXT PRIMARY KEY,
    rev      INTEGER NOT NULL,
    name     TEXT NOT NULL,
    folded   TEXT NOT NULL,
    grp      TEXT REFERENCES feeding_group (id),
    shelf    TEXT REFERENCES shelf (id),
    archived INTEGER NOT NULL CHECK (archived IN (0, 1)),
    version  INTEGER NOT NULL,
    made     INTEGER NOT NULL,
    changed  INTEGER NOT NULL,
    at       INTEGER NOT NULL,
    oldest   INTEGER NOT NULL,
    newest   INTEGER NOT NULL,
    CHECK (oldest <= at AND at <= newest)
) STRICT;
CREATE INDEX mix_by_change ON mix (archived, changed, id);
CREATE INDEX mix_by_group ON mix (grp, archived, changed, id);
CREATE INDEX mix_by_shelf ON mix (shelf);

CREATE TABLE mix_step (
    mix      TEXT NOT NULL REFERENCES mix (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL,
    document TEXT NOT NULL,
    PRIMARY KEY (mix, number)
) STRICT;

CREATE TABLE mix_version (
    mix      TEXT NOT NULL REFERENCES mix (id) ON DELETE CASCADE,
    number   INTEGER NOT NULL,
    document TEXT NOT NULL,
    note     TEXT NOT NULL,
    made     INTEGER NOT NULL,
    PRIMARY KEY (mix, number)
) STRICT;

-- +goose Down
DROP TABLE mix_version;
DROP TABLE mix_step;
DROP TABLE mix;
DROP TABLE shelf_item;
DROP TABLE shelf;
DROP TABLE feeding_group;
DROP TABLE setting;
DROP TABLE counter;
