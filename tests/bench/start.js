/** How long `nightbath serve` takes until its page is served, against the boot of bare Node. */

import { startBareNode, startDaemon } from './daemon.js';
import { alternately, figure } from './measure.js';
import { scratchFolder } from './workshop.js';

const rounds = 7;

export async function measure() {
  const folder = scratchFolder();
  const startOnce = async (up) => {
    const { startedInMs, stop } = await up();
    await stop();
    return startedInMs;
  };
  const ours = () => startOnce(() => startDaemon(folder));
  const theirs = () => startOnce(startBareNode);
  // The very first start makes the database and fills the system's file cache.
  await ours();
  await theirs();
  return { listening: figure(await alternately(rounds, { ours, theirs }), 'ms', 0) };
}
