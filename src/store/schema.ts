/** Former versions kept the figures of a frame with their names. What is damaged has none. */
const figureOf = (index: number, name: string): string =>
  `CASE WHEN json_valid(quality) THEN coalesce(json_extract(quality, '$[${index}]'), json_extract(quality, '$.${name}')) END`

/**
 * Numbered migrations: the database's user_version is the count of those already made. A migration that has
 * been released is never changed; a new one is added below it.
 */
export const migrations: readonly string[] = [
  `
  CREATE TABLE counters (name TEXT PRIMARY KEY, value INTEGER NOT NULL) WITHOUT ROWID;

  CREATE TABLE stations (
    call TEXT PRIMARY KEY, last_heard_ms INTEGER NOT NULL, details TEXT NOT NULL
  ) WITHOUT ROWID;

  CREATE TABLE frames (
    id INTEGER PRIMARY KEY, heard_ms INTEGER NOT NULL, radio INTEGER NOT NULL, source TEXT NOT NULL,
    octets BLOB NOT NULL, repaired_bits INTEGER NOT NULL, detector TEXT NOT NULL, quality TEXT
  );
  CREATE INDEX frames_by_time ON frames (heard_ms);
  CREATE INDEX frames_by_source ON frames (source, heard_ms);

  CREATE TABLE events (
    id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, kind TEXT NOT NULL, radio INTEGER, station TEXT,
    reference TEXT, text TEXT NOT NULL, reason TEXT
  );
  CREATE INDEX events_by_time ON events (at_ms);
  CREATE INDEX events_by_station ON events (station, at_ms);
  CREATE INDEX events_by_reference ON events (reference) WHERE reference IS NOT NULL;

  CREATE TABLE questions (
    id INTEGER PRIMARY KEY AUTOINCREMENT, from_call TEXT NOT NULL, addressee TEXT NOT NULL, number TEXT,
    text TEXT NOT NULL, radio INTEGER NOT NULL, heard_ms INTEGER NOT NULL, last_heard_ms INTEGER NOT NULL,
    state TEXT NOT NULL, reason TEXT, ended_ms INTEGER
  );
  CREATE INDEX questions_by_sender ON questions (from_call, text, last_heard_ms);
  CREATE INDEX questions_by_time ON questions (heard_ms);
  CREATE INDEX questions_open ON questions (id) WHERE state = 'accepted';

  CREATE TABLE messages (
    id INTEGER PRIMARY KEY AUTOINCREMENT, kind TEXT NOT NULL, to_call TEXT NOT NULL, number TEXT,
    reply_to TEXT, text TEXT NOT NULL, question_id INTEGER, mailbox_id INTEGER, radio INTEGER NOT NULL,
    state TEXT NOT NULL, attempts INTEGER NOT NULL DEFAULT 0, created_ms INTEGER NOT NULL,
    not_after_ms INTEGER NOT NULL, ended_ms INTEGER, reason TEXT
  );
  CREATE INDEX messages_open ON messages (to_call) WHERE state IN ('waiting', 'parked');
  CREATE INDEX messages_by_question ON messages (question_id) WHERE question_id IS NOT NULL;
  CREATE INDEX messages_by_time ON messages (created_ms);
  CREATE INDEX messages_by_number ON messages (to_call, number);

  CREATE TABLE mailbox (
    id INTEGER PRIMARY KEY AUTOINCREMENT, question_id TEXT NOT NULL UNIQUE, from_call TEXT NOT NULL,
    to_call TEXT NOT NULL, text TEXT NOT NULL, left_ms INTEGER NOT NULL, expires_ms INTEGER NOT NULL,
    state TEXT NOT NULL, number TEXT, collected_by TEXT, collect_question TEXT, prompted_ms INTEGER,
    prompt_count INTEGER NOT NULL DEFAULT 0, ended_ms INTEGER, reason TEXT
  );
  CREATE INDEX mailbox_open ON mailbox (to_call) WHERE state IN ('waiting', 'sending');

  CREATE TABLE notices (
    id INTEGER PRIMARY KEY AUTOINCREMENT, question_id TEXT NOT NULL UNIQUE, from_call TEXT NOT NULL,
    text TEXT NOT NULL, posted_ms INTEGER NOT NULL, expires_ms INTEGER NOT NULL
  );
  CREATE INDEX notices_by_time ON notices (expires_ms);

  CREATE TABLE transmissions (
    id INTEGER PRIMARY KEY, at_ms INTEGER NOT NULL, radio INTEGER NOT NULL, priority TEXT NOT NULL,
    octets BLOB NOT NULL, outcome TEXT NOT NULL, airtime_ms REAL, reference TEXT, reason TEXT
  );
  CREATE INDEX transmissions_by_time ON transmissions (at_ms);

  CREATE TABLE service_data (
    service TEXT NOT NULL, key TEXT NOT NULL, value TEXT NOT NULL, PRIMARY KEY (service, key)
  ) WITHOUT ROWID;
  `,
  `
  ALTER TABLE transmissions ADD COLUMN client TEXT;
  CREATE INDEX transmissions_open ON transmissions (id) WHERE outcome = 'queued';
  `,
  // Row numbers begin anew in a new database, so that one question had the id of another; the rows that are there keep theirs.
  `ALTER TABLE questions ADD COLUMN own_part TEXT NOT NULL DEFAULT '';`,
  // 1: expires_ms was reckoned while the clock could be trusted
  `
  ALTER TABLE mailbox ADD COLUMN expiry_trusted INTEGER NOT NULL DEFAULT 0;
  ALTER TABLE notices ADD COLUMN expiry_trusted INTEGER NOT NULL DEFAULT 0;
  `,
  // A station took 5.3 kB for 1.7 of facts: rows of a table without row ids went to overflow pages. Each frame cost a page of
  // an index by sender that nothing asks for. The log is read by station and by kind in the order of its ids.
  `
  CREATE TABLE stations_by_id (
    id INTEGER PRIMARY KEY, call TEXT NOT NULL UNIQUE, last_heard_ms INTEGER NOT NULL, details TEXT NOT NULL
  );
  INSERT INTO stations_by_id (call, last_heard_ms, details)
    SELECT call, last_heard_ms, details FROM stations;
  DROP TABLE stations;
  ALTER TABLE stations_by_id RENAME TO stations;
  DROP INDEX frames_by_source;
  DROP INDEX events_by_station;
  CREATE INDEX events_by_station ON events (station) WHERE station IS NOT NULL;
  CREATE INDEX events_by_kind ON events (kind) WHERE kind <> 'heard';
  `,
  // Each of these was a scan of its whole table: the mailbox at each heard frame.
  `
  CREATE INDEX mailbox_expiring ON mailbox (expires_ms) WHERE state = 'waiting';
  CREATE INDEX mailbox_waiting ON mailbox (to_call) WHERE state = 'waiting';
  CREATE INDEX mailbox_sending ON mailbox (collected_by) WHERE state = 'sending';
  CREATE INDEX mailbox_by_sender ON mailbox (from_call) WHERE state IN ('waiting', 'sending');
  CREATE INDEX mailbox_untrusted ON mailbox (id) WHERE expiry_trusted = 0;
  CREATE INDEX mailbox_by_collector ON mailbox (collect_question) WHERE collect_question IS NOT NULL;
  CREATE INDEX mailbox_by_time ON mailbox (left_ms);
  CREATE INDEX messages_open_by_id ON messages (id) WHERE state IN ('waiting', 'parked');
  CREATE INDEX notices_by_sender ON notices (from_call);
  CREATE INDEX notices_untrusted ON notices (id) WHERE expiry_trusted = 0;
  INSERT INTO counters (name, value) SELECT 'acknowledged', count(*) FROM messages WHERE state = 'acknowledged';
  `,
  // Nothing asks for it: what is open is read in the order of ids.
  `DROP INDEX messages_open;`,
  // For scripts and dashboards of others: names that stay when tables change. README describes them.
  `
  DROP VIEW IF EXISTS v_frames;
  CREATE VIEW v_frames AS
    SELECT id, heard_ms, strftime('%Y-%m-%dT%H:%M:%fZ', heard_ms / 1000.0, 'unixepoch') AS heard_utc, radio, source,
      length(octets) AS octet_count, hex(octets) AS octets_hex, repaired_bits, detector,
      ${figureOf(0, 'levelDbfs')} AS level_dbfs,
      ${figureOf(1, 'toneBalanceDb')} AS tone_balance_db,
      ${figureOf(2, 'toneOffsetHz')} AS tone_offset_hz,
      ${figureOf(3, 'symbolRateErrorPpm')} AS symbol_rate_error_ppm,
      ${figureOf(4, 'ebN0Db')} AS eb_n0_db,
      ${figureOf(5, 'eyeOpening')} AS eye_opening,
      ${figureOf(6, 'clippedShare')} AS clipped_share,
      ${figureOf(7, 'preambleFlags')} AS preamble_flags
    FROM frames;

  DROP VIEW IF EXISTS v_conversations;
  CREATE VIEW v_conversations AS
    SELECT id, heard_ms AS asked_ms, strftime('%Y-%m-%dT%H:%M:%fZ', heard_ms / 1000.0, 'unixepoch') AS asked_utc, radio,
      from_call, addressee, text AS question, state, reason, ended_ms,
      (SELECT group_concat(text, ' / ') FROM (SELECT text FROM messages WHERE question_id = questions.id ORDER BY id)) AS answer,
      (SELECT count(*) FROM messages WHERE question_id = questions.id) AS message_count,
      (SELECT coalesce(sum(attempts), 0) FROM messages WHERE question_id = questions.id) AS attempt_count,
      (SELECT count(*) FROM messages WHERE question_id = questions.id AND state = 'acknowledged') AS acknowledged_count
    FROM questions;

  DROP VIEW IF EXISTS v_transmissions;
  CREATE VIEW v_transmissions AS
    SELECT id, at_ms, strftime('%Y-%m-%dT%H:%M:%fZ', at_ms / 1000.0, 'unixepoch') AS at_utc, radio, priority, outcome,
      airtime_ms, reference, reason, client, length(octets) AS octet_count, hex(octets) AS octets_hex
    FROM transmissions;
  `,
  // Letters of connected mode: longer than a message, read over a connection.
  `
  CREATE TABLE letters (
    id INTEGER PRIMARY KEY AUTOINCREMENT, from_call TEXT NOT NULL, to_call TEXT NOT NULL, subject TEXT NOT NULL,
    text TEXT NOT NULL, left_ms INTEGER NOT NULL, expires_ms INTEGER NOT NULL,
    expiry_trusted INTEGER NOT NULL, read_ms INTEGER, read_by TEXT
  );
  CREATE INDEX letters_by_receiver ON letters (to_call);
  CREATE INDEX letters_by_sender ON letters (from_call);
  CREATE INDEX letters_expiring ON letters (expires_ms);
  CREATE INDEX letters_untrusted ON letters (id) WHERE expiry_trusted = 0;
  `,
  // When the key lines were on: who asks whether it was this station gets an answer.
  `
  CREATE TABLE keyings (at_ms INTEGER NOT NULL, radio INTEGER NOT NULL, duration_ms INTEGER NOT NULL);
  CREATE INDEX keyings_by_time ON keyings (at_ms);
  `,
  // What goes from hill to hill, who has it, and how far this database and each neighbour's have come with each other.
  `
  CREATE TABLE hill_entries (
    id INTEGER PRIMARY KEY AUTOINCREMENT, entry_id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, from_call TEXT NOT NULL,
    to_call TEXT NOT NULL, subject TEXT NOT NULL, text TEXT NOT NULL, written_ms INTEGER NOT NULL, expires_ms INTEGER NOT NULL,
    expiry_trusted INTEGER NOT NULL, trace TEXT NOT NULL, came_from TEXT, state TEXT NOT NULL, peer TEXT, outcome TEXT,
    local TEXT
  );
  CREATE INDEX hill_entries_by_local ON hill_entries (local) WHERE local IS NOT NULL;
  CREATE INDEX hill_entries_open ON hill_entries (id) WHERE state <> 'ended';
  CREATE INDEX letters_unread ON letters (id) WHERE read_ms IS NULL;
  CREATE INDEX hill_entries_ended ON hill_entries (id) WHERE state = 'ended';
  CREATE INDEX hill_entries_by_peer ON hill_entries (peer) WHERE state <> 'ended';
  CREATE INDEX hill_entries_untrusted ON hill_entries (id) WHERE expiry_trusted = 0;
  CREATE TABLE hill_has (entry_id TEXT NOT NULL, peer TEXT NOT NULL, PRIMARY KEY (entry_id, peer)) WITHOUT ROWID;
  CREATE TABLE hill_peers (
    id INTEGER PRIMARY KEY, call TEXT NOT NULL UNIQUE, epoch TEXT NOT NULL, count INTEGER NOT NULL, confirmed INTEGER NOT NULL
  );
  `,
  // Mail to and from addresses outside, when a link exists. A mailbox entry that came by mail knows where its answer goes.
  `
  CREATE TABLE emails (
    id INTEGER PRIMARY KEY AUTOINCREMENT, question_id TEXT NOT NULL UNIQUE, kind TEXT NOT NULL, from_call TEXT NOT NULL,
    to_address TEXT NOT NULL, to_name TEXT NOT NULL, text TEXT NOT NULL, message_id TEXT NOT NULL UNIQUE,
    in_reply_to TEXT, language TEXT NOT NULL, left_ms INTEGER NOT NULL, expires_ms INTEGER NOT NULL,
    expiry_trusted INTEGER NOT NULL, state TEXT NOT NULL, attempts INTEGER NOT NULL DEFAULT 0,
    under_way INTEGER NOT NULL DEFAULT 0, unsure_count INTEGER NOT NULL DEFAULT 0, ended_ms INTEGER, reason TEXT
  );
  CREATE INDEX emails_waiting ON emails (id) WHERE state = 'waiting';
  CREATE INDEX emails_expiring ON emails (expires_ms) WHERE state = 'waiting';
  CREATE INDEX emails_untrusted ON emails (id) WHERE expiry_trusted = 0;
  CREATE INDEX emails_by_time ON emails (left_ms);
  CREATE INDEX emails_by_sender ON emails (from_call);
  CREATE TABLE emails_taken (
    id INTEGER PRIMARY KEY AUTOINCREMENT, message_key TEXT NOT NULL UNIQUE, at_ms INTEGER NOT NULL
  );
  CREATE INDEX emails_taken_by_time ON emails_taken (at_ms);
  CREATE TABLE email_names (
    id INTEGER PRIMARY KEY AUTOINCREMENT, call TEXT NOT NULL, name TEXT NOT NULL, address TEXT NOT NULL,
    UNIQUE (call, name)
  );
  ALTER TABLE mailbox ADD COLUMN sender_name TEXT;
  ALTER TABLE mailbox ADD COLUMN answer_to TEXT;
  ALTER TABLE mailbox ADD COLUMN answer_id TEXT;
  CREATE INDEX mailbox_by_mail ON mailbox (collected_by) WHERE answer_to IS NOT NULL;
  `,
  // The newest text that a station left for several.
  `CREATE INDEX mailbox_of_several ON mailbox (from_call, id) WHERE instr(question_id, '>') > 0;`,
  // 1: written into a connection, whose reader may have seen it
  `
  ALTER TABLE mailbox ADD COLUMN shown INTEGER NOT NULL DEFAULT 0;
  ALTER TABLE letters ADD COLUMN shown INTEGER NOT NULL DEFAULT 0;
  `,
]

/** Marks the file as ours ('RPST'), so that a restore refuses some other program's database. */
export const applicationId = 0x52505354
