/** Cutting bytes into lines: any portions, any bytes, and an end to lines without end. */

import { array, assert, constantFrom, integer, property, string } from 'fast-check';
import { describe, expect, test } from 'vitest';
import { createFramer } from '../../../drivers/link/framer.ts';

function framer(terminator: string, maxBytes: number) {
  const frames: string[] = [];
  let overflows = 0;
  const cut = createFramer(
    { kind: 'lines', terminator, maxBytes },
    {
      onFrame: (frame) => frames.push(frame),
      onOverflow: () => {
        overflows += 1;
      },
    },
  );
  return {
    frames,
    overflows: () => overflows,
    reset: () => cut.reset(),
    push: (text: string) => cut.push(Buffer.from(text, 'latin1')),
  };
}

describe('lines', () => {
  test('are delivered before push returns', () => {
    const { push, frames } = framer('\n', 64);
    push('1.5\n2.5\n3');
    expect(frames).toEqual(['1.5', '2.5']);
    push('.5\n');
    expect(frames).toEqual(['1.5', '2.5', '3.5']);
  });

  test('keep every byte: a reply is latin1, not UTF-8', () => {
    const { push, frames } = framer('\n', 600);
    const bytes = Array.from({ length: 256 }, (_, byte) => String.fromCharCode(byte)).join('');
    const sent = bytes.replace('\n', '');
    push(`${sent}\n`);
    expect(frames).toEqual([sent]);
  });

  test('are the same however the bytes are portioned', () => {
    const lines = array(string({ unit: constantFrom('1', '.', '\xff', ' '), minLength: 1 }));
    const cuts = array(integer({ min: 1, max: 5 }), { minLength: 1 });
    assert(
      property(lines, cuts, constantFrom('\n', '\r', '\r\n'), (texts, sizes, terminator) => {
        const { push, frames } = framer(terminator, 64);
        const bytes = texts.map((text) => text + terminator).join('');
        for (let at = 0, turn = 0; at < bytes.length; turn += 1) {
          const size = sizes[turn % sizes.length] ?? 1;
          push(bytes.slice(at, at + size));
          at += size;
        }
        expect(frames).toEqual(texts);
      }),
    );
  });

  test('a line that has begun is forgotten at a reset', () => {
    const { push, reset, frames } = framer('\n', 64);
    push('old');
    reset();
    push('new\n');
    expect(frames).toEqual(['new']);
  });
});

describe('a line that is too long', () => {
  test('is told once, dropped whole, and the next one is read', () => {
    const { push, frames, overflows } = framer('\n', 8);
    push('good\n12345678');
    push('9');
    expect(overflows()).toBe(1);
    push('0123456789\nnext\n');
    expect(frames).toEqual(['good', 'next']);
    expect(overflows()).toBe(1);
  });

  test.each([['\n'], ['\r\n']])('of exactly the longest length is a line (%j)', (terminator) => {
    const { push, frames, overflows } = framer(terminator, 8);
    push(`12345678${terminator}123456789${terminator}ok${terminator}`);
    expect(frames).toEqual(['12345678', 'ok']);
    expect(overflows()).toBe(1);
  });

  test('of two million bytes costs little and keeps nothing', () => {
    const { push, frames, overflows } = framer('\n', 512);
    const flood = '0123456789'.repeat(200);
    const startMs = performance.now();
    for (let count = 0; count < 1000; count += 1) push(flood);
    // Without the cap the same flood was measured at seconds.
    expect(performance.now() - startMs).toBeLessThan(1000);
    push('\n7\n');
    expect(frames).toEqual(['7']);
    expect(overflows()).toBe(1);
  });
});

test('raw mode hands chunks on as they come', () => {
  const frames: string[] = [];
  const cut = createFramer(
    { kind: 'raw', maxBytes: 16 },
    { onFrame: (frame) => frames.push(frame), onOverflow: () => frames.push('overflow') },
  );
  cut.push(Buffer.from('\x00\xff\n', 'latin1'));
  cut.push(Buffer.from('1', 'latin1'));
  expect(frames).toEqual(['\x00\xff\n', '1']);
});
