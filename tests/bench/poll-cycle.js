/** How much longer a poll of the driver takes than its bytes need on the wire. */

import { median } from './measure.js';
import {
  connectDriver,
  exchangeTimes,
  noLine,
  openLine,
  openPlainPort,
  pollLine,
  pollTimes,
} from './serial-line.js';

const rounds = 5;

function wireMs(bytes, baudRate) {
  return (bytes * 10 * 1000) / baudRate;
}

/** The driver and a plain exchange in turns on one line; each as a share of the time on the wire. */
async function atRate(baudRate, count) {
  const line = await openLine(baudRate);
  const ours = [];
  const plain = [];
  const times = { ours: [], wire: [] };
  for (let round = 0; round < rounds; round += 1) {
    const driver = await connectDriver(line.path, baudRate);
    const text = await pollLine(driver);
    const polls = await pollTimes(driver, count);
    await driver.rectifier.close();
    ours.push(median(polls.map(({ ms, bytes }) => ms / wireMs(bytes, baudRate))));
    times.ours.push(median(polls.map(({ ms }) => ms)));
    times.wire.push(median(polls.map(({ bytes }) => wireMs(bytes, baudRate))));

    const port = await openPlainPort(line.path, baudRate);
    const exchanges = await exchangeTimes(port, text, count);
    await port.close();
    plain.push(median(exchanges.map(({ ms, bytes }) => ms / wireMs(bytes, baudRate))));
  }
  await line.close();
  const sides = `${median(times.ours).toFixed(2)} ms, on the wire ${median(times.wire).toFixed(2)} ms`;
  return { driver: { value: median(ours), sides }, plain: { value: median(plain) } };
}

export async function measure() {
  if (noLine !== null) {
    const leftOut = { leftOut: noLine };
    return { slow: leftOut, fast: leftOut, slowPlain: leftOut, fastPlain: leftOut };
  }
  const slow = await atRate(9600, 16);
  const fast = await atRate(115_200, 120);
  return {
    slow: slow.driver,
    fast: fast.driver,
    slowPlain: slow.plain,
    fastPlain: fast.plain,
  };
}
