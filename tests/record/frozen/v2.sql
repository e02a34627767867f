-- A job file of schema version 2, frozen. The board is invented. Never edit this file.
PRAGMA application_id = 0x52574B4A;
PRAGMA user_version = 2;
-- Version 1: the log of events, the plan they refer to, and the tables derived from the log.

-- The job: one row.
CREATE TABLE job (
    only_row INTEGER PRIMARY KEY CHECK (only_row = 1), -- always 1: a file holds one job
    job_id TEXT NOT NULL,          -- unique for ever; the page keeps its ticks under this name
    board_id TEXT NOT NULL,        -- hash of the board's name and designators; known before a job exists
    board_name TEXT NOT NULL,      -- name of the design
    revision TEXT NOT NULL,        -- revision of the design, empty where nobody says
    parts_file TEXT NOT NULL,      -- name of the parts list, as the person calls it
    copies INTEGER NOT NULL CHECK (copies >= 1), -- how many physical boards
    started_at TEXT NOT NULL,      -- when the job began, UTC
    started_by TEXT NOT NULL,      -- who began it
    alloy_found TEXT NOT NULL,     -- solder alloy as found, empty = unknown
    alloy_used TEXT NOT NULL       -- solder alloy used in the work, empty = unknown
) STRICT;

-- The physical boards, numbered from 1.
CREATE TABLE copy (
    copy INTEGER PRIMARY KEY,      -- number of the physical board
    serial TEXT NOT NULL,          -- serial number, empty where it has none
    plan_id TEXT NOT NULL          -- the work order that holds for it
) STRICT;

-- The places of the design, in natural order.
CREATE TABLE place (
    ref TEXT PRIMARY KEY,          -- designator, canonical
    rank INTEGER NOT NULL,         -- natural order of the designators
    kind TEXT NOT NULL,            -- kind of part, or unknown
    polarised TEXT NOT NULL CHECK (polarised IN ('yes', 'no', 'unknown')), -- whether it matters which way round
    value TEXT NOT NULL,           -- value as written
    package TEXT NOT NULL,         -- package as written
    part_number TEXT NOT NULL,     -- order number as written
    fit TEXT NOT NULL CHECK (fit IN ('fit', 'do_not_fit', 'not_a_part')) -- what the design says of the place
) STRICT, WITHOUT ROWID;

-- What happened, in order. Rows are added, never changed and never removed; all else is derived from them.
CREATE TABLE event (
    seq INTEGER PRIMARY KEY AUTOINCREMENT, -- order of arrival in this file
    id TEXT NOT NULL UNIQUE,       -- unique for ever: the same id is the same event, on any device
    copy INTEGER NOT NULL,         -- physical board
    at TEXT NOT NULL,              -- when, by the clock of its device, UTC; never compared between devices
    who TEXT NOT NULL,             -- who did it
    device TEXT NOT NULL,          -- where it was entered
    kind TEXT NOT NULL,            -- found, done, state, site, photo, pause, proof, reading, ...
    subject TEXT NOT NULL,         -- designator, point, hold point or name of a process step
    detail TEXT NOT NULL CHECK (json_valid(detail)), -- the facts of this kind of event, JSON
    undoes TEXT                    -- id of the event that this one takes back
) STRICT;
CREATE INDEX event_of_subject ON event (copy, subject, seq);
CREATE INDEX event_of_kind ON event (kind, copy, seq);
CREATE INDEX event_undone ON event (undoes) WHERE undoes IS NOT NULL;
CREATE TRIGGER event_stays BEFORE UPDATE ON event BEGIN SELECT RAISE(ABORT, 'events are never changed'); END;
CREATE TRIGGER event_kept BEFORE DELETE ON event BEGIN SELECT RAISE(ABORT, 'events are never removed'); END;

-- The operations of the work orders in use.
CREATE TABLE operation (
    plan_id TEXT NOT NULL,         -- hash of the work order
    n INTEGER NOT NULL,            -- number within this work order only
    kind TEXT NOT NULL,            -- kind of operation
    grp TEXT NOT NULL,             -- slug of the group heading
    hold_point TEXT,               -- the hold point it stands before
    title TEXT NOT NULL,           -- message, JSON
    setup TEXT NOT NULL,           -- tool, tip, setting, preheat, side, strap, JSON
    why TEXT NOT NULL,             -- messages, JSON
    alerts TEXT NOT NULL,          -- warnings and cautions, JSON
    after TEXT NOT NULL,           -- numbers of the operations that must come first, JSON
    duration_s REAL,               -- hand work in seconds, empty where nobody says
    PRIMARY KEY (plan_id, n)
) STRICT, WITHOUT ROWID;

-- The steps of each operation: what a tick is about. The key is stable when plans are renumbered.
CREATE TABLE step (
    plan_id TEXT NOT NULL,         -- work order
    n INTEGER NOT NULL,            -- operation
    position INTEGER NOT NULL,     -- order within the operation
    kind TEXT NOT NULL,            -- kind of operation
    subject TEXT NOT NULL,         -- designator, hold point or name of a process step
    PRIMARY KEY (plan_id, n, position)
) STRICT, WITHOUT ROWID;
CREATE INDEX step_of_subject ON step (plan_id, subject);

-- Hold points: which parts they need and protect.
CREATE TABLE hold_outline (
    name TEXT PRIMARY KEY,         -- name of the hold point
    rank INTEGER NOT NULL,         -- order as stated
    data TEXT NOT NULL             -- needs, protects, measure, confirm, fitted set of its bands, JSON
) STRICT, WITHOUT ROWID;

-- The files that went in, as they were when the job began or was last refreshed.
CREATE TABLE input_file (
    name TEXT PRIMARY KEY,         -- path in the board folder
    role TEXT NOT NULL,            -- parts, fitted, placement, netlist, facts, ...
    sha256 TEXT NOT NULL,          -- hash of the bytes
    size INTEGER NOT NULL          -- bytes
) STRICT, WITHOUT ROWID;

-- Names that a reading may use; empty = any name.
CREATE TABLE point (
    name TEXT PRIMARY KEY          -- net or named point, canonical
) STRICT, WITHOUT ROWID;

-- Derived from the events: how each place stands now.
CREATE TABLE place_state (
    copy INTEGER NOT NULL,         -- physical board
    ref TEXT NOT NULL,             -- designator
    place TEXT NOT NULL,           -- empty, fitted, not_inspected
    joint TEXT NOT NULL,           -- none, tacked, soldered, leg_lifted
    part TEXT NOT NULL,            -- good, damaged, wrong_part, removed_on_purpose, temporary_link
    way_round TEXT NOT NULL,       -- not_needed, not_checked, seen, measured, reversed
    fastening TEXT NOT NULL,       -- none, finger_tight, torqued
    made_by TEXT NOT NULL,         -- factory, earlier_repair, me
    note TEXT NOT NULL,            -- the last remark
    since TEXT,                    -- id of the event that this state stems from
    changed INTEGER,               -- seq of the last event of work on it; empty = as found
    PRIMARY KEY (copy, ref)
) STRICT, WITHOUT ROWID;

-- Derived from the events: the steps that are done now.
CREATE TABLE step_done (
    copy INTEGER NOT NULL,         -- physical board
    subject TEXT NOT NULL,         -- as in step
    kind TEXT NOT NULL,            -- as in step
    event TEXT NOT NULL,           -- id of the event
    seq INTEGER NOT NULL,          -- its order of arrival
    without_reading TEXT NOT NULL, -- points that should have been read first and were not
    PRIMARY KEY (copy, subject, kind)
) STRICT, WITHOUT ROWID;

-- Derived from the events: the newest reading of each point, mode, stage and direction.
CREATE TABLE reading_now (
    copy INTEGER NOT NULL,         -- physical board
    point TEXT NOT NULL,           -- where the probes were
    mode TEXT NOT NULL,            -- volts, ohms, diode, amps, continuity, celsius, look
    hold_point TEXT NOT NULL,      -- hold point, empty = unpowered
    swapped INTEGER NOT NULL,      -- 1 where the leads were swapped
    form TEXT NOT NULL,            -- value, over_range, rising, jumps
    value REAL,                    -- in unit; empty where the display gave none
    unit TEXT NOT NULL,            -- V, A, ohm, C
    text TEXT NOT NULL,            -- as typed
    seq INTEGER NOT NULL,          -- order of arrival
    PRIMARY KEY (copy, point, mode, hold_point, swapped)
) STRICT, WITHOUT ROWID;

-- Version 2: what readings are judged by, and what two devices disagree on.

-- Expected readings, as computed when the job began or was last refreshed.
CREATE TABLE expected (
    id TEXT PRIMARY KEY,           -- name of the check
    hold_point TEXT NOT NULL,      -- hold point it belongs to, empty = none
    purpose TEXT NOT NULL,         -- hold_point, orientation, bare_place, ...
    point TEXT NOT NULL,           -- where the probes go
    mode TEXT NOT NULL,            -- what the meter is set to
    data TEXT NOT NULL             -- the whole check, JSON
) STRICT, WITHOUT ROWID;
CREATE INDEX expected_at ON expected (point, mode);

-- Derived from the events: what two devices say differently; the careful word stands until somebody decides.
CREATE TABLE disagreement (
    copy INTEGER NOT NULL,         -- physical board
    subject TEXT NOT NULL,         -- designator or name of a process step
    what TEXT NOT NULL,            -- facet of the place, or done:KIND for a step
    here TEXT NOT NULL,            -- what this job had
    there TEXT NOT NULL,           -- what the other device says
    stands TEXT NOT NULL,          -- the more careful of the two
    seq INTEGER NOT NULL,          -- event that noted it
    PRIMARY KEY (copy, subject, what)
) STRICT, WITHOUT ROWID;

INSERT INTO job VALUES (1, 'job-old', 'board-old', 'Old greenhouse board (invented)', 'A', 'old list.csv', 1, '2026-01-01T00:00:00Z', 'ann', '', 'SAC305');
INSERT INTO copy VALUES (1, 'SN7', 'plan-old');
INSERT INTO place VALUES ('R1', 0, 'resistor', 'no', '4k7', '0805', '', 'fit');
INSERT INTO place VALUES ('U1', 1, 'regulator', 'yes', '5 V', 'TO-220', '', 'fit');
INSERT INTO event VALUES (1, 'e1', 0, '2026-01-01T00:00:00Z', 'ann', 'bench', 'snapshot', 'plan-old', '{"inputs":{"old list.csv":"aa"}}', NULL);
INSERT INTO event VALUES (2, 'e2', 1, '2026-01-01T00:01:00Z', 'ann', 'bench', 'done', 'R1', '{"kind":"solder"}', NULL);
INSERT INTO event VALUES (3, 'e3', 1, '2026-01-01T00:02:00Z', 'ann', 'bench', 'done', 'U1', '{"kind":"tack"}', NULL);
INSERT INTO operation VALUES ('plan-old', 1, 'solder', 'group-small-smd', NULL, '["operation-solder",[]]', '{}', '[]', '[]', '[]', 120.0);
INSERT INTO operation VALUES ('plan-old', 2, 'tack', 'group-leaded', NULL, '["operation-tack",[]]', '{}', '[]', '[]', '[1]', NULL);
INSERT INTO operation VALUES ('plan-old', 3, 'solder', 'group-leaded', NULL, '["operation-solder",[]]', '{}', '[]', '[]', '[2]', 120.0);
INSERT INTO step VALUES ('plan-old', 1, 0, 'solder', 'R1');
INSERT INTO step VALUES ('plan-old', 2, 0, 'tack', 'U1');
INSERT INTO step VALUES ('plan-old', 3, 0, 'solder', 'U1');
INSERT INTO input_file VALUES ('old list.csv', 'parts', 'aa', 10);
INSERT INTO place_state VALUES (1, 'R1', 'fitted', 'soldered', 'good', 'not_needed', 'none', 'me', '', 'e2', 2);
INSERT INTO place_state VALUES (1, 'U1', 'fitted', 'tacked', 'good', 'not_checked', 'none', 'me', '', 'e3', 3);
INSERT INTO step_done VALUES (1, 'R1', 'solder', 'e2', 2, '');
INSERT INTO step_done VALUES (1, 'U1', 'tack', 'e3', 3, '');
