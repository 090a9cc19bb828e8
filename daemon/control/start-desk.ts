/** Starts an armed run: judged by the checks of that moment, and with what was said on record first. */

import { isOpen, isUnattendedPhrase, objections, type StartSaid } from '../run/checks/start.ts';
import type { Check } from '../run/checks/model.ts';
import type { Command } from '../wire/command.ts';
import type { CheckDesk } from './check-desk.ts';
import { refusal, type Refusal } from './refusal.ts';
import type { Tank } from './tank.ts';

/** From the checks until current is asked for, ms. */
const startWithinMs = 4_000;

type StartCommand = Extract<Command, { kind: 'start' }>;

/**
 * Feeds the start to the run unless a check stands in its way. Null where it was fed; the run itself
 * may still refuse it, which is answered too. `moved` tells whether the run is another by now.
 */
export async function startRun(
  tank: Tank,
  command: StartCommand,
  desk: CheckDesk,
  moved: () => Refusal | null,
): Promise<Refusal | null> {
  const said: StartSaid = {
    acknowledged: command.acknowledged ?? [],
    attended: command.attended ?? false,
    confirmation: command.confirmation ?? null,
  };
  const checks = await desk.judge(tank);
  const open = objections(checks, said);
  if (open.length > 0) return refusalOf(open);
  const judgedMs = performance.now();
  try {
    await writeDown(tank, command.by, checks, said);
    if (tank.run !== null) await tank.journal.startComing(tank.run);
  } catch (error) {
    const reason = error instanceof Error ? error.message : String(error);
    return refusal('refused', `The log cannot be written, so nothing is started. ${reason}`);
  }
  const other = moved();
  if (other !== null) return asItIs(tank, other);
  // Whoever pressed has stopped waiting: current must not come when nobody expects it any more.
  if (performance.now() - judgedMs > startWithinMs) {
    return refusal('refused', 'The disk took too long. Nothing was started; press again.');
  }
  if (tank.run !== null) tank.run.startedBy = command.by;
  const refused = tank.feed({ kind: 'start', atMs: tank.clock.nowMs() });
  return refused === null ? null : asItIs(tank, refusal('refused', refused));
}

/** It was not started after all: its row says so again. */
function asItIs({ run, journal }: Tank, refused: Refusal): Refusal {
  if (run !== null) journal.update(run);
  return refused;
}

function refusalOf(open: readonly Check[]): Refusal {
  const first = open[0];
  const more = open.length > 1 ? ` And ${open.length - 1} more.` : '';
  const reason = `${first?.title ?? 'A check'}: ${first?.sentence ?? 'not well.'}${more}`;
  return {
    ok: false,
    code: 'refused',
    reason,
    problems: open.map(({ id, state, weight, sentence, remedy }) => ({
      field: `checks.${id}`,
      value: state,
      bound: weight === 'hard' ? 'ok' : id === 'alerts' ? 'ok, attended or typed' : 'acknowledged',
      message: `${sentence} ${remedy}`.trim(),
    })),
  };
}

/** Who started it with what open, on disk before any current flows. */
async function writeDown(
  tank: Tank,
  by: string,
  checks: readonly Check[],
  said: StartSaid,
): Promise<void> {
  const open = checks.filter(isOpen);
  const aside = open.filter(({ id }) => id !== 'alerts').map(({ title }) => title.toLowerCase());
  const list = aside.length === 0 ? 'Every check is well' : `Set aside: ${aside.join('; ')}`;
  const skipped = tank.simulated
    ? ' The checks of a real supply are skipped: it is simulated.'
    : '';
  await tank.journal.committed(tank.run, 'checked', `Start by ${by}. ${list}.${skipped}`);
  if (!open.some(({ id }) => id === 'alerts')) return;
  await (said.confirmation !== null && isUnattendedPhrase(said.confirmation)
    ? tank.journal.committed(
        tank.run,
        'unattendedConfirmed',
        `Left alone without a tested alert: ${by} typed "${said.confirmation.trim()}".`,
      )
    : tank.journal.committed(
        tank.run,
        'attended',
        `No tested alert: ${by} said that somebody stays with the bench.`,
      ));
}
