/** Holds a database file against what its writer said before it was killed. */

import Database from 'better-sqlite3';
import { openStoreReader, openStoreWriter } from '../../dist/daemon/store/door.js';
import { keyRange } from '../../dist/daemon/store/keys.js';

/** Rows that belong to one record, by its kind; all of them are there, or none is. */
const wholeRecords = {
  event: { events: 1, alarms: 0, messages: 0, postings: 0 },
  told: { events: 1, alarms: 0, messages: 1, postings: 2 },
  alarm: { events: 1, alarms: 1, messages: 1, postings: 2 },
};

/** What a writer said: a list for each line, in the order of the lines. */
export function heardFrom(runId, lines) {
  const heard = { runId, opened: false, readings: [], asked: [], answered: [], complaints: [] };
  for (const [word, ...rest] of lines) {
    if (word === 'opened') heard.opened = true;
    if (word === 'reading') heard.readings.push(rest[1]);
    if (word === 'asked') {
      const [kind, key, readings, number] = rest;
      heard.asked.push({ kind, key, readings, number });
    }
    if (word === 'answered') heard.answered.push({ kind: rest[0], key: rest[1], id: rest[2] });
    if (word === 'refused') heard.complaints.push(`${rest[1]} was refused: ${rest[2]}`);
    if (word === 'notice') heard.complaints.push(`The writer said: ${rest[0]}`);
  }
  return heard;
}

/** As the daemon opens it at its start; tells what it had to say of it. */
async function openAsDaemon(file, runIds) {
  const said = [];
  const hear = (sentence) => void said.push(sentence);
  let writer;
  try {
    writer = await openStoreWriter({ file, onNotice: hear, onDamage: hear });
  } catch (error) {
    return [`It does not open: ${error.message}`];
  }
  try {
    for (const runId of runIds) await writer.run(runId);
    await writer.unsettledRuns();
    await writer.outbox.open();
  } catch (error) {
    said.push(error.message);
  }
  await writer.close();
  return said.map((sentence) => `At the opening: ${sentence}`);
}

/** Every row that bears this key, counted by table. */
function rowsOf(db, key) {
  const count = (sql) => db.prepare(sql).pluck().get(key);
  return {
    events: count('SELECT count(*) FROM events WHERE message = ?'),
    alarms: count(
      `SELECT count(*) FROM alarms JOIN events ON events.id = alarms.event_id
       WHERE found = ? AND message = found`,
    ),
    messages: count(
      `SELECT count(*) FROM messages JOIN events ON events.id = messages.event_id
       LEFT JOIN alarms ON alarms.event_id = events.id
       WHERE messages.id = ? AND message = messages.id AND messages.alarm_id IS alarms.id`,
    ),
    postings: count(
      `SELECT count(DISTINCT channel) FROM outbox JOIN messages ON messages.number = outbox.message
       WHERE messages.id = ?`,
    ),
  };
}

function isSame(rows, wanted) {
  return Object.keys(wanted).every((table) => rows[table] === wanted[table]);
}

const none = { events: 0, alarms: 0, messages: 0, postings: 0 };

function inWords(rows) {
  return Object.entries(rows)
    .map(([table, count]) => `${table} ${count}`)
    .join(', ');
}

/** An acknowledged alarm has nothing left to be said; one that is not has all of it. */
function judgeAcknowledgement(db, { key }, isAnswered) {
  const row = db
    .prepare(
      `SELECT acknowledged_wall_ms AS seen, count(outbox.due_wall_ms) AS due
       FROM alarms JOIN messages ON messages.alarm_id = alarms.id
       JOIN outbox ON outbox.message = messages.number WHERE found = ?`,
    )
    .get(key);
  const isThere = row.seen !== null;
  const wrong = [];
  if (isAnswered && !isThere) wrong.push(`The acknowledgement of ${key} is lost.`);
  if (row.due !== (isThere ? 0 : 2)) {
    wrong.push(`${key}: ${isThere ? '' : 'not '}acknowledged, and ${row.due} are due.`);
  }
  return { isThere, wrong };
}

function judgeRecord(db, { kind, key }, isAnswered) {
  const rows = rowsOf(db, key);
  const isThere = isSame(rows, wholeRecords[kind]);
  const wrong = [];
  if (!isThere && isAnswered) wrong.push(`${key} was answered; there: ${inWords(rows)}.`);
  else if (!isThere && !isSame(rows, none))
    wrong.push(`${key} is there in part: ${inWords(rows)}.`);
  return { isThere, wrong };
}

/** All that was asked for and may be there, and must be where it was answered. */
function judgeRecords(db, heard, stored) {
  const answered = new Set(heard.answered.map(({ kind, key }) => `${kind} ${key}`));
  const result = { wrong: [], answered: 0, found: 0, unanswered: 0, unansweredFound: 0 };
  for (const asked of heard.asked) {
    if (asked.kind === 'run' || asked.kind === 'patch') continue;
    const isAnswered = answered.has(`${asked.kind} ${asked.key}`);
    const look = asked.kind === 'acknowledge' ? judgeAcknowledgement : judgeRecord;
    const { isThere, wrong } = look(db, asked, isAnswered);
    result.wrong.push(...wrong);
    result[isAnswered ? 'answered' : 'unanswered'] += 1;
    if (isThere) result[isAnswered ? 'found' : 'unansweredFound'] += 1;
    if (isThere && stored < asked.readings) {
      const missing = `reading ${stored}, handed in before it, is not`;
      result.wrong.push(`${asked.kind} ${asked.key} is there, ${missing}.`);
    }
  }
  const keys = new Set(heard.asked.map(({ key }) => key));
  const strange = db
    .prepare('SELECT message FROM events WHERE run_id = ?')
    .pluck()
    .all(heard.runId)
    .filter((key) => !keys.has(key));
  result.wrong.push(...strange.map((key) => `Event ${key} was never asked for.`));
  return result;
}

/** The run's row, with the last change that was answered or one that was asked for after it. */
function judgeRun(reader, heard) {
  const isAnswered = heard.answered.some(({ kind }) => kind === 'run');
  const run = reader.run(heard.runId);
  if (run === null) return isAnswered ? [`The run ${heard.runId} is lost.`] : [];
  const numbers = new Map(heard.asked.map(({ key, number }) => [key, number]));
  const patched = heard.answered.filter(({ kind }) => kind === 'patch');
  const least = Math.max(0, ...patched.map(({ key }) => numbers.get(key)));
  const wrong = [];
  if (run.ampHours < least) {
    wrong.push(`${heard.runId}: change ${least} was answered, the run is at ${run.ampHours}.`);
  }
  const asked = heard.asked.filter(({ kind }) => kind === 'patch').map(({ number }) => number);
  if (run.ampHours !== 0 && !asked.includes(run.ampHours)) {
    wrong.push(`${heard.runId} is at ${run.ampHours}, which was never asked for.`);
  }
  return wrong;
}

/** The readings in their order with nothing between them missing, and how old the oldest lost one is. */
function judgeReadings(db, reader, heard, { killedMs, mostLostMs }) {
  const rows = [...reader.allReadings(heard.runId)].flat();
  const wrong = [];
  const hole = rows.findIndex(({ ampHours }, index) => ampHours !== index);
  if (hole >= 0) wrong.push(`${heard.runId}: reading ${hole} is missing between others.`);
  if (rows.length > heard.readings.length) {
    wrong.push(`${heard.runId}: ${rows.length - heard.readings.length} readings too many.`);
  }
  const oldest = heard.readings[rows.length];
  const lostMs = oldest === undefined ? 0 : Math.max(0, killedMs - oldest);
  if (lostMs > mostLostMs) {
    const age = `handed in ${Math.round(lostMs)} ms before the kill`;
    wrong.push(`${heard.runId}: reading ${rows.length} is lost, ${age}.`);
  }
  const number = db.prepare('SELECT number FROM runs WHERE id = ?').pluck().get(heard.runId);
  const [first, last] = keyRange(number ?? 0);
  const keys = db.prepare('SELECT count(*) FROM readings WHERE key BETWEEN ? AND ?').pluck();
  const sums = db.prepare('SELECT sum(count) FROM summaries WHERE run = ? GROUP BY span').pluck();
  if (sums.all(number ?? 0).some((count) => count !== keys.get(first, last))) {
    wrong.push(`${heard.runId}: its summaries do not cover its ${rows.length} readings.`);
  }
  return { wrong, stored: rows.length, lost: heard.readings.length - rows.length, lostMs };
}

function judgeFile(db) {
  const check = db.pragma('quick_check', { simple: true });
  const strays = db.pragma('foreign_key_check').length;
  const wrong = check === 'ok' ? [] : [`quick_check: ${check}`];
  return strays === 0 ? wrong : [...wrong, `${strays} rows point to none.`];
}

function judgeOne(db, reader, heard, killing) {
  const readings = judgeReadings(db, reader, heard, killing);
  const records = judgeRecords(db, heard, readings.stored);
  const wrong = [...judgeRun(reader, heard), ...readings.wrong, ...records.wrong];
  return { ...readings, ...records, wrong };
}

/**
 * Opens the file as the daemon does and holds each of its runs against what its writer said, the last
 * one at the kill. `earlier` were judged before, and have to be as they were then. Answers with what
 * is wrong, as sentences, and with figures of the last.
 */
export async function judge(file, { heard, earlier = [], killedMs, mostLostMs }) {
  const all = [...earlier, heard];
  const wrong = await openAsDaemon(
    file,
    all.map(({ runId }) => runId),
  );
  const db = new Database(file, { readonly: true, fileMustExist: true });
  const reader = openStoreReader(file);
  try {
    wrong.push(...judgeFile(db));
    for (const one of earlier) {
      const found = judgeOne(db, reader, one, { killedMs, mostLostMs: Infinity });
      wrong.push(...found.wrong);
      if (found.stored !== one.stored) {
        wrong.push(`${one.runId} had ${one.stored} readings and has ${found.stored} now.`);
      }
    }
    const found = judgeOne(db, reader, heard, { killedMs, mostLostMs });
    return { ...found, wrong: [...wrong, ...heard.complaints, ...found.wrong] };
  } catch (error) {
    const nothing = { stored: 0, lost: 0, lostMs: 0, answered: 0, found: 0 };
    const rest = { unanswered: 0, unansweredFound: 0 };
    return { ...nothing, ...rest, wrong: [...wrong, `It cannot be read: ${error.message}`] };
  } finally {
    reader.close();
    db.close();
  }
}
