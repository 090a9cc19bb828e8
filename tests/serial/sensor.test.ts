/** A sensor on a real pseudo-terminal: values, garbage, a line without end, silence, unplugged and back. */

import { spawn, type ChildProcess } from 'node:child_process';
import { existsSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { createServer } from 'node:net';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, onTestFinished, test, type TestContext } from 'vitest';
import { Sensor, systemClock, type SensorSpec } from '../../drivers/registry.ts';
import { until } from './test-bench.ts';

const spec: Omit<SensorSpec, 'link'> = {
  scale: 1,
  offset: 0,
  least: -20,
  most: 150,
  silenceMs: 1_500,
};

/**
 * How a test leaves nothing behind. Tests that run side by side have to say it through their own
 * context: the hook without one holds on to whichever of them began last.
 */
type Finished = TestContext['onTestFinished'];

/** A process at the other end of a pseudo-terminal that says ten times a second what a file holds. */
class Sender {
  readonly #folder = mkdtempSync(join(tmpdir(), 'nightbath-sensor-'));
  readonly path = join(this.#folder, 'tty');
  #socat: ChildProcess | null = null;

  constructor(says: string, finished: Finished) {
    this.say(says);
    const script = `while :; do cat ${join(this.#folder, 'says')}; sleep 0.1; done`;
    writeFileSync(join(this.#folder, 'run.sh'), script);
    finished(() => {
      this.unplug();
      rmSync(this.#folder, { recursive: true, force: true });
    });
  }

  say(bytes: string): void {
    writeFileSync(join(this.#folder, 'says'), Buffer.from(bytes, 'latin1'));
  }

  async plug(): Promise<this> {
    const pty = `pty,raw,echo=0,link=${this.path}`;
    const exec = `EXEC:"sh ${join(this.#folder, 'run.sh')}"`;
    this.#socat = spawn('socat', ['-d', pty, exec], { stdio: ['ignore', 'ignore', 'inherit'] });
    await until('the pty', () => existsSync(this.path));
    return this;
  }

  unplug(): void {
    this.#socat?.kill();
    this.#socat = null;
  }
}

function listening(path: string, finished: Finished, changes: Partial<SensorSpec> = {}): Sensor {
  const link = { kind: 'serial', path, baudRate: 9600 } as const;
  const sensor = new Sensor({ ...spec, link, ...changes }, systemClock);
  finished(() => sensor.close());
  sensor.start();
  return sensor;
}

/** How old the latest value is, ms; without one it is infinitely old. */
function ageMs({ latest }: Sensor): number {
  return latest === null ? Infinity : systemClock.nowMs() - latest.atMs;
}

describe.concurrent('a sensor on a serial line', () => {
  test('says its values, scaled, and nothing is wrong then', async ({
    onTestFinished: finished,
  }) => {
    const sender = await new Sender('74.3 F\r\n', finished).plug();
    // Fahrenheit to Celsius, as a maker would write it in the settings.
    const sensor = listening(sender.path, finished, { scale: 0.555_556, offset: -17.777_778 });
    await until('a value', () => sensor.latest);
    expect(sensor.latest?.value).toBeCloseTo(23.5, 2);
    expect(sensor.trouble).toBe('');
  });

  test('survives garbage and lines without end, and reads on after them', async ({
    onTestFinished: finished,
  }) => {
    const sender = await new Sender('23.5\n', finished).plug();
    const sensor = listening(sender.path, finished);
    await until('a value', () => sensor.latest);
    for (const bytes of ['\xff\x00~~boot~~\r\n', '-127.00\n', '1e999\n', '7'.repeat(500)]) {
      sender.say(bytes);
      await until(`trouble with ${bytes.slice(0, 8)}`, () => sensor.trouble !== '', 10_000);
      await until('an old value', () => ageMs(sensor) > 400);
      expect(sensor.latest?.value).toBe(23.5);
      sender.say('23.5\n');
      await until('a value again', () => ageMs(sensor) < 300 && sensor.trouble === '', 15_000);
    }
  });

  test('that falls silent is opened anew, and heard when it speaks again', async ({
    onTestFinished: finished,
  }) => {
    const sender = await new Sender('23.5\n', finished).plug();
    const sensor = listening(sender.path, finished);
    await until('a value', () => sensor.latest);
    sender.say('');
    await until('trouble', () => sensor.trouble !== '', 10_000);
    sender.say('24.5\n');
    await until('a value', () => sensor.latest?.value === 24.5, 10_000);
  });

  test('that is unplugged and comes back as another device is found again', async ({
    onTestFinished: finished,
  }) => {
    const sender = await new Sender('23.5\n', finished).plug();
    const sensor = listening(sender.path, finished);
    await until('a value', () => sensor.latest);
    sender.unplug();
    await until('trouble', () => sensor.trouble !== '', 10_000);
    sender.say('25.5\n');
    await sender.plug();
    await until('a value', () => sensor.latest?.value === 25.5, 10_000);
  });

  test('that is not there, or no serial port, says so in words', async ({
    onTestFinished: finished,
  }) => {
    const missing = listening('/dev/no-such-sensor', finished);
    await until('trouble', () => missing.trouble.includes('does not exist'), 10_000);
    const plain = listening('/etc/hostname', finished);
    await until('trouble', () => plain.trouble.includes('is not a serial port'), 10_000);
  });
});

test('a sensor on the network is read over TCP, also in pieces', async () => {
  const server = createServer((socket) => {
    const pieces = ['1', '9.25\n2', '2.', '75\n'];
    const timer = setInterval(() => socket.write(pieces[count++ % pieces.length] ?? ''), 30);
    let count = 0;
    socket.on('error', () => undefined);
    socket.on('close', () => clearInterval(timer));
  });
  await new Promise<void>((resolve) => server.listen(0, '127.0.0.1', resolve));
  onTestFinished(() => void server.close());
  const address = server.address();
  const port = typeof address === 'object' && address !== null ? address.port : 0;
  const link = { kind: 'tcp', host: '127.0.0.1', port } as const;
  const sensor = new Sensor({ ...spec, link }, systemClock);
  onTestFinished(() => sensor.close());
  sensor.start();
  const seen = new Set<number>();
  await until('both values', () => {
    if (sensor.latest !== null) seen.add(sensor.latest.value);
    return seen.size >= 2;
  });
  expect([...seen].toSorted((left, right) => left - right)).toEqual([19.25, 22.75]);
});
