/* Every SQL text of the program but the schema.  STATEMENT(name, text); prepared once, when the
 * record is opened.  No SQL is put together at run time. */
/* clang-format off */
STATEMENT(BEGIN,    "BEGIN IMMEDIATE")
STATEMENT(COMMIT,   "COMMIT")
STATEMENT(ROLLBACK, "ROLLBACK")

STATEMENT(NEXT_JOB, "SELECT coalesce(max(id), 0) + 1 FROM job")
STATEMENT(ADD_JOB,
    "INSERT INTO job (id, procedure, title, machine, digest) VALUES (?1, ?2, ?3, ?4, ?5)")
STATEMENT(ADD_SOURCE,
    "INSERT INTO job_source (job, number, role, name, path, digest)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6)")
STATEMENT(KEEP_BYTES,
    "INSERT INTO kept_bytes (digest, bytes)"
    " SELECT ?1, ?2 WHERE NOT EXISTS (SELECT 1 FROM kept_bytes WHERE digest = ?1)")

STATEMENT(LAST_EVENT,
    "SELECT number, digest FROM event WHERE job = ?1 ORDER BY number DESC LIMIT 1")
STATEMENT(ADD_EVENT,
    "INSERT INTO event (job, number, kind, body, previous, digest)"
    " VALUES (?1, ?2, ?3, ?4, ?5, ?6)")
STATEMENT(ADD_ATTACHMENT, "INSERT INTO attachment (job, number, digest) VALUES (?1, ?2, ?3)")

STATEMENT(JOB, "SELECT procedure, title, machine, digest FROM job WHERE id = ?1")
STATEMENT(SOURCES,
    "SELECT s.number, s.role, s.name, s.path, s.digest, k.bytes"
    " FROM job_source s LEFT JOIN kept_bytes k ON k.digest = s.digest"
    " WHERE s.job = ?1 ORDER BY s.number")
STATEMENT(EVENTS,
    "SELECT number, kind, body, previous, digest FROM event WHERE job = ?1 ORDER BY number")
STATEMENT(ATTACHMENT,
    "SELECT k.digest, k.bytes FROM attachment a LEFT JOIN kept_bytes k ON k.digest = a.digest"
    " WHERE a.job = ?1 AND a.number = ?2")

STATEMENT(JOBS,
    "SELECT j.id, j.procedure, j.title, j.machine,"
    " json_extract(first.body, '$.at.wall'), json_extract(last.body, '$.at.wall'),"
    " json_extract(first.body, '$.rehearsal'),"
    " (SELECT json_extract(e.body, '$.what') FROM event e"
    "   WHERE e.job = j.id AND e.kind = 'ended' ORDER BY e.number DESC LIMIT 1),"
    " last.digest"
    " FROM job j"
    " JOIN event first ON first.job = j.id AND first.number = 1"
    " JOIN event last ON last.job = j.id"
    "  AND last.number = (SELECT max(number) FROM event WHERE job = j.id)"
    " ORDER BY j.id")
STATEMENT(EARLIER_JOBS,
    "SELECT j.id FROM job j"
    " JOIN event first ON first.job = j.id AND first.number = 1"
    " WHERE j.machine = ?1 AND NOT json_extract(first.body, '$.rehearsal')"
    " AND 'completed' = (SELECT json_extract(e.body, '$.what') FROM event e"
    "   WHERE e.job = j.id AND e.kind = 'ended' ORDER BY e.number DESC LIMIT 1)"
    " AND (EXISTS (SELECT 1 FROM event e WHERE e.job = j.id"
    "   AND e.kind IN ('read', 'answered') AND json_extract(e.body, '$.name') = ?2)"
    /* what is added up is 0 where nothing was; only its procedure tells */
    "  OR EXISTS (SELECT 1 FROM job_source s JOIN kept_bytes k ON k.digest = s.digest"
    "   WHERE s.job = j.id AND s.role IN ('procedure', 'followed')"
    "   AND instr(k.bytes, CAST('adds' AS BLOB)) > 0 AND instr(k.bytes, CAST(?3 AS BLOB)) > 0))"
    " ORDER BY j.id DESC")
/* clang-format on */
