/** `nightbath pieces`: lists the saved pieces, or writes one with its pictures; needs no daemon. */

import { pieceDocument } from '../store/door.ts';
import type { LibraryReader, StoreReader } from '../store/door.ts';
import type { PieceSummary } from '../wire/library.ts';
import { configOption, exitCodes, jsonOption, UsageError, wholeNumber } from './command.ts';
import type { Call, Command } from './command.ts';
import { readingLog } from './log-reader.ts';
import { digits } from './plan-text.ts';
import { outOption, writeResult } from './result.ts';
import { table } from './table.ts';

const mostPieces = 1000;

function list(call: Call, pieces: readonly PieceSummary[], empty: string): void {
  const { terminal } = call;
  if (call.switches.has('json')) {
    terminal.print(JSON.stringify({ pieces }, null, 2));
    return;
  }
  if (pieces.length === 0) {
    terminal.print(empty);
    return;
  }
  const rows = pieces.map(({ id, version, savedWallMs, partCount, areaMm2, name }) => [
    id,
    String(version),
    new Date(savedWallMs).toISOString().slice(0, 16).replace('T', ' '),
    String(partCount),
    `${digits(areaMm2 / 10_000, 3)} dm2`,
    name,
  ]);
  terminal.print(table(['piece', 'version', 'saved (UTC)', 'parts', 'area', 'name'], rows));
}

async function write(library: LibraryReader, call: Call, id: string): Promise<number> {
  const version = wholeNumber(call, 'version', 1, 1_000_000_000) ?? undefined;
  const saved = library.piece(id, version);
  if (saved === null) {
    const which = version === undefined ? `piece "${id}"` : `version ${version} of a piece "${id}"`;
    call.terminal.complain(`There is no ${which}. Without a piece, all of them are listed.`);
    return exitCodes.failed;
  }
  await writeResult(call, pieceDocument(library, saved));
  return exitCodes.done;
}

async function answer({ library }: StoreReader, call: Call): Promise<number> {
  const [id] = call.words;
  if (id === undefined) {
    for (const name of ['version', 'out']) {
      if (call.values[name] !== undefined) throw new UsageError(`--${name} needs a piece.`);
    }
    const archived = call.switches.has('archived');
    const empty = archived ? 'No piece is archived.' : 'There are no saved pieces yet.';
    list(call, library.pieces({ archived, limit: mostPieces }), empty);
    return exitCodes.done;
  }
  if (call.switches.has('archived')) throw new UsageError('--archived takes no piece.');
  return write(library, call, id);
}

export const piecesCommand: Command = {
  words: ['[PIECE]'],
  options: {
    archived: { help: 'list the archived ones in place of the others' },
    version: { value: 'N', help: 'write this version; the newest if not given' },
    out: outOption,
    json: { ...jsonOption, help: 'print the list as JSON; a piece is always written as JSON' },
    config: configOption,
  },
  notes: [
    'Lists the saved pieces, the latest first, or writes the one that is named, with its pictures. ' +
      'The file can be taken in on the page of another bench, and planned as it is:',
    [
      '  nightbath pieces piece-1f0c9a7be2d4 --out twig.json',
      '  nightbath plan twig.json --thickness 120 --paint copper',
    ].join('\n'),
  ],
  run: (call) => readingLog(call, answer),
};
