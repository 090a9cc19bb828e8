/**
 * Guards that can be taken away, one at a time, in a compiled copy of the program: the nights must
 * then break a promise. `find` has to stand in the file exactly once.
 *
 * Not in the table: the second try of a reading within its cycle. Without it a reading that was lost
 * or garbled is a missing one, the next cycle asks again, and the bounds of silence and of a gap in
 * the charge are several cycles long: it brings readings sooner, and no promise rests on it.
 *
 * Nor guards behind which another one stands, so that a night keeps its promises without them:
 * - the rules `overVoltage` and `supplyTripped`: where the voltage runs away the supply's own protection
 *   trips, or the current is too high; a supply that has tripped is found off;
 * - waiting for the run's row before ON: a start is written down first, and without the row it is not;
 * - the limits in `SupplyLink.program`: plan and run ask for nothing above them, and the driver refuses;
 * - the beat after a whole round only: no round of one tank hangs while its process goes on, as each tick
 *   has an end to its patience.
 */

/** A watch rule is a line in the list of rules. */
function withoutRule(name, faults, next) {
  return {
    name: `rule-${name}`,
    file: 'daemon/run/watch/watch.js',
    changes: [[`    ${name},\n    ${next},`, `    ${next},`]],
    faults,
  };
}

const machine = 'daemon/run/machine.js';
const standingBy = 'daemon/run/standing-by.js';
const ending = 'daemon/run/ending.js';
const charge = 'daemon/run/charge.js';
const commands = 'daemon/control/commands.js';
const recovery = 'daemon/control/recovery.js';
const unseen = 'daemon/control/unseen.js';
const journal = 'daemon/control/journal.js';
const schedule = 'daemon/alerts/schedule.js';

/** A change that each of these nights contains, after a minute and a half with the output on. */
function changing(what, factor, hasty = false) {
  const change = { afterMs: 90_000, what, factor, hasty, whileLifted: false };
  return { changes: [change], probes: [] };
}

/** A thermometer that stops the run for this, a minute after ON. */
function sensing(trouble) {
  const acts = { high: 'trip', missing: 'trip', staleAfterSeconds: 8 };
  return { sensor: { trouble, afterMs: 60_000, lastsMs: 60_000, ...acts } };
}

/**
 * `faults` are those that this guard stands against; no others happen in its nights. They are nights
 * of some minutes, unless `brief` is false. With a `moment` they begin then, where they can. With
 * `besides` they contain that as well. With `kept` it is one night that failed before there was this guard,
 * with `night` one that is made for it: its seed, and what happens in it.
 */
export const mutants = [
  withoutRule('overCurrent', ['currentRunsAway', 'short'], 'overVoltage'),
  withoutRule('supplyRestarted', ['restart'], 'supplyTripped'),
  withoutRule('shortCircuit', ['short'], 'openCircuit'),
  withoutRule('openCircuit', ['open'], 'setPointChanged'),
  withoutRule('setPointChanged', ['knob'], 'outputFoundOff'),
  withoutRule('outputFoundOff', ['outputKey'], 'notFollowing'),
  withoutRule('notFollowing', ['badContact', 'anodeFilm'], 'stuckReading'),
  withoutRule('stuckReading', ['stuckMeter'], 'noCharge'),
  { ...withoutRule('noCharge', ['deadMeter'], 'tooLong'), brief: false },
  {
    // A tank with hardly more time than the plan takes, and a meter that shows less and less.
    ...withoutRule('tooLong', ['driftingMeter'], 'tooMuchCharge'),
    brief: false,
    night: {
      seed: 1391,
      episodes: [{ fault: 'driftingMeter', at: 'on', delayMs: 1_000, lastsMs: 10_000_000 }],
    },
  },
  {
    name: 'silence-trips',
    file: standingBy,
    changes: [['if (silentMs < bound)', 'if (silentMs < Infinity)']],
    faults: ['mute', 'unplugged', 'endlessLine', 'noReading'],
  },
  {
    name: 'silence-trips-in-time',
    file: 'daemon/control/timing.js',
    changes: [['return Math.max(2_000, 7 * cycleMs);', 'return Math.max(3_000, 10 * cycleMs);']],
    faults: ['mute', 'unplugged', 'noReading'],
    moment: 'holding',
  },
  {
    name: 'unconfirmed-off-is-told-in-time',
    file: 'daemon/control/timing.js',
    changes: [['offAlarmMs: 3_000,', 'offAlarmMs: 5_500,']],
    faults: ['mute', 'ignoresOff', 'weldedRelay'],
    moment: 'on',
  },
  {
    name: 'sleep-trips',
    file: standingBy,
    changes: [
      [
        '    if (isPowered(state.lifecycle)) {\n        return trip({ ...state, charge }',
        '    if (false) {\n        return trip({ ...state, charge }',
      ],
    ],
    faults: ['suspended'],
  },
  {
    name: 'found-on-while-armed',
    file: standingBy,
    changes: [
      ['    if (reading.live) {\n        return trip(', '    if (false) {\n        return trip('],
    ],
    faults: ['outputKey'],
    moment: 'armed',
  },
  {
    name: 'found-on-after-the-end',
    file: standingBy,
    changes: [['if (!reading.live)', 'if (true)']],
    faults: ['outputKey'],
    moment: 'ended',
  },
  {
    name: 'off-unconfirmed-calls-a-person',
    file: ending,
    changes: [['if (offAlarmRaised || waitedMs < timing.offAlarmMs)', 'if (true)']],
    faults: ['ignoresOff', 'mute', 'weldedRelay'],
  },
  {
    name: 'off-is-repeated',
    file: ending,
    changes: [
      [
        'return go(overdue.state, ...again.effects, ...overdue.effects);',
        'return go(overdue.state, ...overdue.effects);',
      ],
    ],
    faults: ['ignoresOff', 'weldedRelay', 'mute'],
  },
  {
    name: 'trip-switches-off',
    file: ending,
    changes: [
      [
        "    return go(closed, ...off.effects, { kind: 'alarm', fault, priority: 'stopped' }",
        "    return go(closed, { kind: 'alarm', fault, priority: 'stopped' }",
      ],
    ],
    faults: ['open', 'knob', 'mute'],
  },
  {
    name: 'stop-at-the-target',
    file: 'daemon/run/judging.js',
    changes: [
      ['endAtTarget(watched, reading) ?? advance(watched, reading)', 'advance(watched, reading)'],
    ],
    faults: [],
  },
  {
    name: 'charge-by-the-trapezoid',
    file: charge,
    changes: [
      [
        '((before + amps) / 2) * (durationMs / msPerHour)',
        'amps * 1.008 * (durationMs / msPerHour)',
      ],
    ],
    faults: [],
  },
  {
    name: 'unseen-charge-is-bounded',
    file: charge,
    changes: [
      [
        'const highAmpHours = mostAmps * (unseenMs / msPerHour);',
        'const highAmpHours = 0 * mostAmps * (unseenMs / msPerHour);',
      ],
    ],
    faults: ['suspended'],
  },
  {
    name: 'a-glimpse-bounds-the-charge',
    file: ending,
    changes: [['glimpse(state.charge, seen)', 'state.charge']],
    kept: '2007430',
  },
  {
    name: 'sentinel-before-on',
    file: 'daemon/control/securing.js',
    changes: [
      [
        'await guardRun(record, { guardian, rectifier });',
        'guardRun(record, { guardian, rectifier }).catch(() => undefined);',
      ],
    ],
    faults: ['sentinelRefuses'],
  },
  {
    name: 'off-voids-what-was-asked',
    file: 'daemon/control/tank.js',
    changes: [['this.#actions.cancel();', '']],
    faults: ['stopBeforeOn'],
  },
  {
    name: 'off-needs-no-current',
    file: 'drivers/scpi/off.js',
    changes: [
      ['if (seen.outputOn !== true && without >= needed) {', 'if (seen.outputOn !== true) {'],
    ],
    faults: ['weldedRelay'],
  },
  {
    name: 'off-is-read-back',
    file: 'drivers/scpi/off.js',
    changes: [['if (seen.outputOn !== true && without >= needed) {', 'if (true) {']],
    faults: ['ignoresOff', 'weldedRelay'],
  },
  {
    name: 'protections-are-switched-on',
    file: 'drivers/scpi/program.js',
    changes: [['await enableProtections(session, ticket, enables);', '']],
    faults: [],
  },
  {
    name: 'restart-owes-off',
    file: 'daemon/control/tank.js',
    changes: [['        this.#debt.owe(runs);', '']],
    faults: ['killedWhileStuckOn'],
  },
  {
    name: 'restart-interrupts',
    file: recovery,
    changes: [["lifecycle: started ? 'interrupted' : 'stopped',", 'lifecycle: record.lifecycle,']],
    faults: ['killed', 'rebooted'],
  },
  {
    name: 'restart-bounds-the-charge',
    file: unseen,
    changes: [
      ['return Math.max(counted, ampHours + doubtAmpHours + flowedAmpHours);', 'return counted;'],
    ],
    faults: ['killed', 'rebooted', 'bothLost'],
  },
  {
    name: 'bounded-from-where-it-was-counted',
    file: unseen,
    changes: [
      ['return isCounted && last.atMs > chargeSeen.atMs ? last : chargeSeen;', 'return last;'],
    ],
    faults: ['killedWhileOffIsIgnored'],
  },
  {
    name: 'a-sleep-is-bounded-once',
    file: 'daemon/control/tank-faults.js',
    changes: [['run.clocks.sinceBootMs + gapMs', 'run.clocks.sinceBootMs']],
    kept: '3000016',
  },
  {
    name: 'unseen-by-clocks-nobody-sets',
    file: unseen,
    changes: [['if (record.clocks === null || until.clocks === null)', 'if (true)']],
    kept: '1109454',
  },
  {
    name: 'log-that-fails-trips',
    file: 'daemon/control/tank-faults.js',
    changes: [["tank.feed({ kind: 'fault', atMs, code: 'databaseLost', found: reason });", '']],
    faults: ['diskFull', 'diskBusy', 'diskError'],
  },
  {
    name: 'patience-of-a-tick',
    file: 'daemon/control/pace.js',
    changes: [['return Promise.race([done, late]);', 'return done;']],
    faults: ['mute', 'cutReply', 'repliesLost', 'shortStall'],
  },
  {
    name: 'vigil',
    file: 'daemon/control/vigil.js',
    changes: [
      ["tank.feed({ kind: 'fault', atMs: tank.clock.nowMs(), code: 'sentinelLost', found });", ''],
    ],
    faults: ['sentinelHangs'],
  },
  {
    name: 'stray-output-calls-a-person',
    file: 'daemon/control/stray-output.js',
    changes: [['        if (this.#told)\n            return;', '        return;']],
    faults: ['usedByHand'],
  },
  {
    name: 'only-the-supply-that-is-meant',
    file: 'drivers/scpi/identity.js',
    changes: [
      ['if (expectIdentity !== null && !identity.text.includes(expectIdentity)) {', 'if (false) {'],
      [
        'if (session.identity !== null && !sameSupply(session.identity, identity)) {',
        'if (false) {',
      ],
    ],
    faults: ['otherDevice'],
  },
  {
    name: 'second-look',
    file: 'daemon/control/second-look.js',
    changes: [
      [
        'if (doubt === null)\n            return first;',
        'if (doubt !== 0)\n            return first;',
      ],
    ],
    faults: ['replyMisread'],
  },
  {
    name: 'an-alarm-is-read-twice',
    file: 'daemon/control/second-look.js',
    changes: [["this.#doubtOf(second, run) !== 'alarm'", 'true']],
    kept: '2006467',
  },
  {
    name: 'one-press-one-answer',
    file: commands,
    changes: [['        if (known !== undefined)\n            return known;', '']],
    faults: ['doubleClick'],
  },
  {
    name: 'stale-tab-is-refused',
    file: commands,
    changes: [['if (version < since || version > state.version) {', 'if (false) {']],
    faults: ['staleTab', 'twoBrowsers'],
  },
  {
    name: 'alarm-before-arming',
    file: 'daemon/control/arming-desk.js',
    changes: [['if (tank.alarms.standing.some(isInTheWay)) {', 'if (false) {']],
    faults: ['open', 'knob', 'mute'],
  },
  {
    name: 'damage-before-arming',
    file: 'daemon/control/arming-desk.js',
    changes: [["priority === 'stopped' || code === 'databaseDamaged'", "priority === 'stopped'"]],
    faults: ['fileDamaged'],
  },
  {
    name: 'second-copy-before-on',
    file: 'drivers/scpi/on.js',
    changes: [['            await session.exchange.settle(ticket);', '']],
    faults: ['replyTwice'],
    // The last reply before ON.
    night: {
      seed: 1,
      episodes: [{ fault: 'replyTwice', at: 'starting', delayMs: 570, lastsMs: 0 }],
    },
  },
  {
    name: 'no-name-twice-over',
    file: 'drivers/scpi/identity.js',
    changes: [['if (!twiceOver.test(text))', 'if (true)']],
    kept: '406872',
  },
  {
    name: 'late-reply-before-on',
    file: 'drivers/scpi/on.js',
    changes: [['look > FAILURES_BORNE ||', 'look > FAILURES_BORNE - 1 ||']],
    kept: '103338',
  },
  {
    name: 'on-for-a-run-that-ended',
    file: machine,
    changes: [
      [
        "    'on-confirmed': by(unwantedOn),\n    'on-failed': ignore,\n    'off-confirmed': by(offConfirmed),\n    'off-unconfirmed': by(offUnconfirmed),\n    reading: by((state, input) => watchEnded(",
        "    'on-confirmed': ignore,\n    'on-failed': ignore,\n    'off-confirmed': ignore,\n    'off-unconfirmed': ignore,\n    reading: by((state, input) => watchEnded(",
      ],
    ],
    faults: ['ignoresOff', 'weldedRelay'],
  },
  {
    name: 'replies-in-step',
    file: 'drivers/scpi/resync.js',
    changes: [['        await prove(session, ticket);', '']],
    faults: ['replyHeld'],
  },
  {
    name: 'run-end-is-told',
    file: journal,
    changes: [['if (!over || seen ||', 'if (true ||']],
    faults: [],
  },
  {
    name: 'alert-with-its-event',
    file: journal,
    changes: [['store.raiseAlarm(event, alarm, posting)', 'store.raiseAlarm(event, alarm)']],
    faults: ['open'],
    moment: 'on',
  },
  {
    name: 'alert-is-tried-again',
    file: schedule,
    changes: [['const dueMs = nowMs + (pausesMs', 'const dueMs = Infinity + (pausesMs']],
    faults: ['open', 'networkGone', 'channelServerError', 'channelTimesOut'],
    moment: 'on',
  },
  {
    name: 'alert-is-said-again',
    file: schedule,
    changes: [['if (!course.repeats || course.dueMs === null) {', 'if (true) {']],
    faults: ['open', 'personSleeps'],
    moment: 'on',
  },
  {
    name: 'acknowledged-is-quiet',
    file: 'daemon/alerts/messenger.js',
    changes: [
      [
        '            item.course = onSettled(item.course);\n            if (item.onDisk)',
        '            if (item.onDisk)',
      ],
    ],
    faults: ['open', 'networkGone', 'channelRefuses'],
    moment: 'on',
  },
  {
    name: 'restart-tells-what-was-left',
    file: 'daemon/alerts/alert-desk.js',
    changes: [['this.#messenger.restore(await this.#parts.outbox.open());', '']],
    faults: ['killedBeforeTelling', 'open', 'networkGone'],
    moment: 'on',
  },
  {
    name: 'readings-are-handed-over',
    file: 'daemon/store/readings-batch.js',
    changes: [['const batchMs = 400;', 'const batchMs = 10_000;']],
    faults: ['killed'],
    moment: 'holding',
  },
  {
    name: 'bath-beyond-its-limit-trips',
    file: 'daemon/run/sensors.js',
    changes: [['const holdMs = 10_000;', 'const holdMs = 30_000;']],
    faults: ['doubleClick'],
    besides: sensing('warm'),
  },
  {
    name: 'sensor-that-is-silent-is-missing',
    file: 'daemon/run/sensors.js',
    changes: [
      ['nowMs - memory.heardMs > rule.staleAfterMs ?', 'nowMs - memory.heardMs > Infinity ?'],
    ],
    faults: ['doubleClick'],
    besides: sensing('nonsense'),
  },
  {
    name: 'change-that-raises-is-asked-twice',
    file: 'daemon/run/changing.js',
    changes: [['if (answer.raises && !input.confirmed) {', 'if (false) {']],
    faults: [],
    besides: changing('density', 1.05, true),
  },
  {
    name: 'change-keeps-armed-limits',
    file: 'daemon/run/change.js',
    changes: [['        ...state.plan.limits,\n', '        ...wanted.limits,\n']],
    faults: [],
    besides: changing('density', 1.05),
  },
  {
    name: 'change-stays-within-armed-current',
    file: 'daemon/run/change.js',
    changes: [['        currentProblem(before, wanted, change),\n', '']],
    faults: [],
    besides: changing('density', 1.8),
  },
  {
    name: 'change-is-in-force',
    file: 'daemon/run/changing.js',
    changes: [['{ ...state, plan, version', '{ ...state, version']],
    faults: [],
    besides: changing('charge', 0.9),
  },
  {
    name: 'change-of-density-keeps-the-target',
    file: 'daemon/run/change.js',
    changes: [['target: standingTarget(plan),', "target: { kind: 'charge', ampHours: 2 },"]],
    faults: [],
    besides: changing('density', 0.9),
  },
];
