-- +goose Up

-- What happens at the scale, see package store. folded is what a search looks
-- through, as store.Fold has it.

-- token is a hash; NULL when the device is not let in.
CREATE TABLE device (
    id      TEXT PRIMARY KEY,
    name    TEXT NOT NULL,
    token   BLOB UNIQUE,
    revoked INTEGER NOT NULL CHECK (revoked IN (0, 1)),
    paired  INTEGER NOT NULL,
    seen    INTEGER NOT NULL,
    CHECK ((revoked = 1) = (token IS NULL))
) STRICT;

-- source is where it was bought.
CREATE TABLE lot (
    id          TEXT PRIMARY KEY,
    rev         INTEGER NOT NULL,
    ref         TEXT NOT NULL,
    code        TEXT NOT NULL,
    folded_code TEXT NOT NULL,
    folded      TEXT NOT NULL,
    source      TEXT NOT NULL,
    bought      TEXT NOT NULL,
    best_before TEXT NOT NULL,
    bought_mg   INTEGER,
    gone        INTEGER NOT NULL CHECK (gone IN (0, 1)),
    note        TEXT NOT NULL,
    made        INTEGER NOT NULL,
    changed     INTEGER NOT NULL
) STRICT;
CREATE INDEX lot_by_time ON lot (made, id);
CREATE INDEX lot_by_ref ON lot (ref, made, id);
CREATE INDEX lot_by_code ON lot (folded_code, made, id);

-- events and poured_mg are what the events come to, kept for lists. finished is
-- NULL while it is open.
CREATE TABLE making (
    id          TEXT PRIMARY KEY,
    rev         INTEGER NOT NULL,
    key         TEXT NOT NULL,
    mix         TEXT REFERENCES mix (id),
    mix_name    TEXT NOT NULL,
    mix_version INTEGER NOT NULL,
    shelf       TEXT REFERENCES shelf (id),
    state       TEXT NOT NULL CHECK (state IN ('open', 'finished', 'left')),
    lot         TEXT NOT NULL,
    folded_lot  TEXT NOT NULL,
    folded      TEXT NOT NULL,
    who         TEXT NOT NULL,
    best_before TEXT NOT NULL,
    started     INTEGER NOT NULL,
    finished    INTEGER,
    changed     INTEGER NOT NULL,
    events      INTEGER NOT NULL,
    poured_mg   INTEGER NOT NULL,
    note        TEXT NOT NULL,
    CHECK ((state = 'open') = (finished IS NULL))
) STRICT;
CREATE INDEX making_by_time ON making (started, id);
CREATE INDEX making_by_state ON making (state, started, id);
CREATE INDEX making_by_mix ON making (mix, started, id);
CREATE INDEX making_by_shelf ON making (shelf, started, id);
CREATE UNIQUE INDEX making_by_key ON making (key) WHERE key != '';
CREATE UNIQUE INDEX making_by_lot ON making (folded_lot) WHERE folded_lot != '';

-- The long texts lie apart, so that lists read short rows.
CREATE TABLE making_document (
    making TEXT PRIMARY KEY REFERENCES making (id) ON DELETE CASCADE,
    start  TEXT NOT NULL,
    finish TEXT NOT NULL
) STRICT;

-- Rows are added and never changed. undoes is the key of the event that is
-- taken back, or empty; took_mg of a take-back is what it gave back, negative.
CREATE TABLE making_event (
    making   TEXT NOT NULL REFERENCES making (id) ON DELETE CASCADE,
    seq      INTEGER NOT NULL,
    key      TEXT NOT NULL,
    kind     TEXT NOT NULL,
    ref      TEXT NOT NULL,
    mg       INTEGER NOT NULL CHECK (mg >= 0),
    bowl     INTEGER NOT NULL,
    round    INTEGER NOT NULL,
    lot      TEXT REFERENCES lot (id),
    undoes   TEXT NOT NULL,
    plan     TEXT NOT NULL,
    note     TEXT NOT NULL,
    device   TEXT REFERENCES device (id),
    person   TEXT NOT NULL,
    at       INTEGER NOT NULL,
    took_mg  INTEGER NOT NULL,
    short_mg INTEGER NOT NULL CHECK (short_mg >= 0),
    PRIMARY KEY (making, seq),
    CHECK ((kind = 'take-back') = (undoes != ''))
) STRICT;
CREATE UNIQUE INDEX making_event_by_key ON making_event (making, key);
CREATE UNIQUE INDEX making_event_undone ON making_event (making, undoes) WHERE undoes != '';
CREATE INDEX making_event_by_lot ON making_event (lot, making, kind, key, mg) WHERE lot IS NOT NULL;
CREATE INDEX making_event_by_device ON making_event (device) WHERE device IS NOT NULL;

-- +goose Down
DROP TABLE making_event;
DROP TABLE making_document;
DROP TABLE making;
DROP TABLE lot;
DROP TABLE device;
