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
