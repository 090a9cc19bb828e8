/** Takes one guard after the other away and proves that the nights notice. */

import { cpSync, mkdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { plainFolder, root } from './build.js';
import { mutants } from './mutants.js';
import { runOrders } from './pool.js';

/** A guard that so many nights do not miss is not tested by them. */
const mostNights = 60;
const scratch = join(root, '.cache/nights/mutants');

/** The text of a file without one guard. Throws when what is to be replaced is not found once. */
function textWithout({ name, file, changes }, folder) {
  let text = readFileSync(join(folder, file), 'utf8');
  for (const [find, put] of changes) {
    const parts = text.split(find);
    if (parts.length !== 2) {
      const times = parts.length - 1;
      throw new Error(`Mutant ${name}: ${JSON.stringify(find)} stands ${times} times in ${file}.`);
    }
    text = parts.join(put);
  }
  return text;
}

/** Names every guard; throws when one does not stand where the table says. */
export function listMutants(say) {
  for (const mutant of mutants) {
    textWithout(mutant, plainFolder);
    say(`${mutant.name}: ${mutant.file}`);
  }
  say(`${mutants.length} guards.`);
}

/** A copy of the compiled campaign without one guard. */
function mutate(mutant) {
  const { name, file } = mutant;
  const folder = join(scratch, name);
  rmSync(folder, { recursive: true, force: true });
  mkdirSync(scratch, { recursive: true });
  cpSync(plainFolder, folder, { recursive: true });
  writeFileSync(join(folder, file), textWithout(mutant, folder));
  return folder;
}

async function firstBroken(folder, orders, workers) {
  let broken = null;
  let nights = 0;
  await runOrders({
    folder,
    workers,
    orders,
    onReport: (report) => {
      nights += 1;
      if (report.violations.length === 0) return true;
      broken ??= report;
      return false;
    },
  });
  return { broken, nights };
}

/** The night that once failed for want of this guard, as it was kept. */
function keptOrder(name) {
  const file = join(root, 'tests/nights/regressions', `${name}.json`);
  const { seed, faults, episodes, besides } = JSON.parse(readFileSync(file, 'utf8'));
  return { seed, only: faults, episodes, besides };
}

/** The night that notices: it breaks a promise without the guard, and none with it. */
async function kill(mutant, { seed, workers }) {
  const folder = mutate(mutant);
  const { faults: only, brief = true, moment, besides, kept, night } = mutant;
  const orderOf = (number) => {
    const drawn = { seed: number, only, brief, moment, besides, ...night };
    return { ...(kept ? keptOrder(kept) : drawn), whole: false, endsWhenBroken: true };
  };
  const most = kept || night ? 1 : mostNights;
  try {
    let from = seed;
    let nights = 0;
    while (nights < most) {
      const count = most - nights;
      const orders = Array.from({ length: count }, (_, index) => orderOf(from + index));
      const found = await firstBroken(folder, orders, workers);
      nights += found.nights;
      if (found.broken === null) return { killed: false, nights };
      const plain = await firstBroken(plainFolder, [orderOf(found.broken.seed)], 1);
      if (plain.broken === null) return { killed: true, nights, by: found.broken };
      // That night is broken in any case; it proves nothing about this guard.
      from = found.broken.seed + 1;
    }
    return { killed: false, nights };
  } finally {
    rmSync(folder, { recursive: true, force: true });
  }
}

/** Runs all mutants, or the one named; answers with the names of those that went unnoticed. */
export async function runMutants({ only, seed, workers, say }) {
  const wanted = only === undefined ? mutants : mutants.filter(({ name }) => name === only);
  if (wanted.length === 0) {
    throw new Error(
      `There is no mutant "${only}". Known: ${mutants.map(({ name }) => name).join(', ')}.`,
    );
  }
  const alive = [];
  for (const mutant of wanted) {
    const { killed, nights, by } = await kill(mutant, { seed, workers });
    if (!killed) alive.push(mutant.name);
    const [first] = by?.violations ?? [];
    const how = killed ? `seed ${by.seed}: ${first.invariant} ${first.what}` : 'NOT NOTICED';
    say(`${mutant.name} (${nights} nights): ${how}`);
  }
  say(`\nKilled ${wanted.length - alive.length} of ${wanted.length} mutants.`);
  return alive;
}
