/** Pictures by HTTP: taken in whole, judged, handed to control in parts; served for ever under their hash. */

import { randomUUID } from 'node:crypto';
import { Hono } from 'hono';
import { pictureLimits, readPicture } from '../piece/picture/picture.ts';
import type { LibraryReader } from '../store/door.ts';
import { pictureIdSchema, picturePartBytes } from '../wire/library.ts';
import type { StoredPicture } from '../wire/library.ts';
import { bodyBytes, pathParam } from './body.ts';
import { obey } from './commands.ts';
import type { CommandDeps } from './commands.ts';
import { ProblemError } from './problem.ts';

/** Pictures that wait to be handed over, the one under way included. */
const mostWaiting = 12;

/** Hands one picture at a time over, so that control and the disk always come to other things between. */
export class PictureSender {
  readonly #deps: CommandDeps;
  #last: Promise<unknown> = Promise.resolve();
  #waiting = 0;

  constructor(deps: CommandDeps) {
    this.#deps = deps;
  }

  /** Resolves once the picture is on disk. Throws a problem when it is refused or control is away. */
  async send(bytes: Uint8Array): Promise<StoredPicture> {
    if (this.#waiting >= mostWaiting) {
      const detail = 'Other pictures are being stored; try again in a few seconds.';
      throw new ProblemError('unavailable', detail, [], { 'retry-after': '5' });
    }
    this.#waiting += 1;
    const mine = this.#last.then(() => this.#send(bytes));
    this.#last = mine.catch(() => undefined);
    try {
      return await mine;
    } finally {
      this.#waiting -= 1;
    }
  }

  async #send(bytes: Uint8Array): Promise<StoredPicture> {
    const upload = randomUUID();
    const count = Math.ceil(bytes.length / picturePartBytes);
    for (let index = 0; index < count; index += 1) {
      const part = bytes.subarray(index * picturePartBytes, (index + 1) * picturePartBytes);
      const base64 = Buffer.from(part).toString('base64');
      const command = { kind: 'picture-part', upload, index, count, base64 } as const;
      const { picture } = await obey(this.#deps, command, `${upload}-${index}`);
      if (picture !== undefined) return picture;
    }
    const detail = 'The picture did not arrive whole and was not stored. Send it again.';
    throw new ProblemError('unavailable', detail, [], { 'retry-after': '2' });
  }
}

export function pictureRoutes(library: LibraryReader, sender: PictureSender) {
  return new Hono()
    .post('/pictures', async (context) => {
      const bytes = new Uint8Array(await bodyBytes(context, pictureLimits.maxBytes));
      const answer = readPicture(bytes, 'picture');
      if (!answer.ok) {
        throw new ProblemError('invalid', answer.problem.message, [answer.problem]);
      }
      return context.json(await sender.send(bytes));
    })
    .get('/pictures/:id', (context) => {
      const id = pathParam(pictureIdSchema, context.req.param('id'), 'picture');
      const picture = library.picture(id);
      if (picture === null) throw new ProblemError('notFound', 'There is no picture of that name.');
      // The name is the hash of the bytes, so what it names can never be another.
      context.header('cache-control', 'private, max-age=31536000, immutable');
      context.header('content-type', picture.facts.mime);
      return context.body(Uint8Array.from(picture.bytes));
    });
}
