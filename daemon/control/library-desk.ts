/** Answers commands on the library of pieces: passes them to the store and words what became of them. */

import { randomBytes } from 'node:crypto';
import type { Problem } from '../piece/model.ts';
import type { LibraryStore, PictureAnswer, PieceAnswer } from '../store/door.ts';
import type { Command, CommandAnswer } from '../wire/command.ts';
import type { LibraryCommand } from '../wire/library.ts';

/** True for the commands of this desk. */
export function isOnLibrary(command: Command): command is LibraryCommand {
  return command.kind.startsWith('piece-') || command.kind === 'picture-part';
}

/** Nothing here is judged on control's own thread: pieces and pictures may take long to look at. */
export async function answerOnLibrary(
  library: LibraryStore,
  command: LibraryCommand,
  wallMs: number,
): Promise<CommandAnswer> {
  switch (command.kind) {
    case 'piece-add':
      return pieceAnswer(await library.addPiece(newPieceId(), command.piece, wallMs));
    case 'piece-edit': {
      const { pieceId, version, piece } = command;
      return pieceAnswer(await library.editPiece(pieceId, version, piece, wallMs), version);
    }
    case 'piece-copy': {
      const { pieceId, name } = command;
      return pieceAnswer(await library.copyPiece(pieceId, newPieceId(), name, wallMs));
    }
    case 'piece-archive':
      return pieceAnswer(await library.archivePiece(command.pieceId, wallMs));
    case 'piece-restore':
      return pieceAnswer(await library.archivePiece(command.pieceId, null));
    case 'picture-part':
      return pictureAnswer(await library.addPicturePart(command, wallMs));
  }
}

function newPieceId(): string {
  return `piece-${randomBytes(6).toString('hex')}`;
}

function pieceAnswer(answer: PieceAnswer, edited?: number): CommandAnswer {
  switch (answer.kind) {
    case 'saved':
      return { ok: true, piece: answer.piece };
    case 'unknown':
      return no('notFound', 'There is no such piece in the library.');
    case 'archived':
      return archived();
    case 'stale': {
      const { version, name, savedWallMs } = answer.newest;
      const when = new Date(savedWallMs).toISOString();
      const message =
        `Version ${version} of this piece ("${name}") was saved at ${when}, after version ` +
        `${edited} that was edited here. Nothing was changed: look at version ${version}, or save ` +
        'this one as a piece of its own.';
      const problem = { field: 'version', value: `${edited}`, bound: `${version}`, message };
      return { ...no('stale', message), problems: [problem] };
    }
    case 'invalid':
      return invalid(answer.problems);
  }
}

function pictureAnswer(answer: PictureAnswer): CommandAnswer {
  switch (answer.kind) {
    case 'partTaken':
      return { ok: true };
    case 'stored':
      return { ok: true, picture: answer.picture };
    case 'invalid':
      return invalid(answer.problems);
  }
}

type Refusal = Extract<CommandAnswer, { ok: false }>;

function no(code: Refusal['code'], reason: string): Refusal {
  return { ok: false, code, reason, problems: [] };
}

function archived(): Refusal {
  const message = 'This piece is archived. Bring it back first; nothing was changed.';
  const problem = { field: 'archived', value: 'true', bound: 'false', message };
  return { ...no('refused', message), problems: [problem] };
}

function invalid(problems: readonly Problem[]): Refusal {
  const reason = problems[0]?.message ?? 'The request is not valid.';
  return { ok: false, code: 'invalid', reason, problems: [...problems] };
}
