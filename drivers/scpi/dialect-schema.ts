/** The words of a dialect file: how one shape of supply is spoken to, as data without code. */

import { z } from 'zod';

const MAX_PATTERN_LENGTH = 200;

/** A regular expression that always means the whole reply: it starts with ^ and ends with $. */
const pattern = z
  .string()
  .max(MAX_PATTERN_LENGTH)
  .refine((text) => text.startsWith('^') && text.endsWith('$') && text.length >= 2, {
    message: 'must start with ^ and end with $',
    abort: true,
  })
  .refine(
    (text) => {
      try {
        return new RegExp(text) instanceof RegExp;
      } catch {
        return false;
      }
    },
    { message: 'is not a regular expression' },
  );

// oxlint-disable-next-line no-control-regex -- control characters in a command are the error sought
const text = z
  .string()
  .min(1)
  .max(80)
  .regex(/^[\x20-\x7e]+$/, 'must be printable ASCII');
const terminator = z.enum(['', '\n', '\r', '\r\n'], {
  error: 'must be "", "\\n", "\\r" or "\\r\\n"',
});
const milliseconds = (max: number) => z.number().int().min(0).max(max);
const positive = z.number().positive();

/** How many bytes a reply has where no terminator ends it. */
const replyLength = {
  length: z.number().int().min(1).max(64).optional(),
  /** A reply of any length, ended by `rx.idleMs` of silence. */
  untilIdle: z.boolean().default(false),
  /** Bytes that some models send after the reply and that mean nothing. */
  strayBytes: z.number().int().min(0).max(8).default(0),
};

const valueQuery = z.strictObject({
  send: text,
  /** With one group around the number; left out, any NRf number with an optional V or A. */
  pattern: pattern.optional(),
  /** The number in the reply times this is volts or amps. */
  scale: positive.default(1),
  ...replyLength,
});

const stateQuery = z.strictObject({ send: text, on: pattern, off: pattern, ...replyLength });

const setting = z.strictObject({
  send: text.refine((value) => value.split('{v}').length === 2, 'must hold {v} exactly once'),
  /** Digits after the decimal point. */
  digits: z.number().int().min(0).max(6),
  /** Pads with leading zeros to this many characters, the point included. */
  width: z.number().int().min(1).max(12).optional(),
  /** Volts or amps divided by this is the number sent. */
  scale: positive.default(1),
});

const action = z.strictObject({ send: text });

const meaning = z.enum([
  'constantVoltage',
  'constantCurrent',
  'unregulated',
  'off',
  'overVoltage',
  'overCurrent',
  'overPower',
  'overTemperature',
]);

const status = z.strictObject({
  send: text,
  type: z.enum(['integer', 'byte', 'text']),
  /** `whenOff`: asked only when the output is found off, to learn why. */
  asked: z.enum(['always', 'whenOff']).default('always'),
  ...replyLength,
  rules: z
    .array(
      z.union([
        z.strictObject({
          mask: z.number().int().min(1).max(0xffff),
          equals: z.number().int().min(0).max(0xffff),
          means: meaning,
        }),
        z.strictObject({ pattern, means: meaning }),
      ]),
    )
    .min(1),
});

export const dialectSchema = z.strictObject({
  name: z.string().regex(/^[a-z0-9][a-z0-9-]{0,39}$/, 'must be lower case words joined by hyphens'),
  description: z.string().min(1).max(200),
  link: z
    .strictObject({
      baudRate: z.number().int().min(300).max(4_000_000).default(9600),
      dataBits: z.union([z.literal(7), z.literal(8)]).default(8),
      parity: z.enum(['none', 'even', 'odd']).default('none'),
      stopBits: z.union([z.literal(1), z.literal(2)]).default(1),
      flow: z.enum(['none', 'rtscts', 'xonxoff']).default('none'),
      dtr: z.boolean().optional(),
      rts: z.boolean().optional(),
      /** Wait after opening; some supplies restart when the port is opened. */
      settleMs: milliseconds(5000).default(100),
      /** Ends a half-sent line at opening and resync; "" where an empty line is objected to. */
      preamble: terminator.default(''),
    })
    .prefault({}),
  tx: z.strictObject({
    terminator,
    /** Least time from the end of one exchange to the next command. */
    gapMs: milliseconds(2000).default(0),
    /** More of it after a command that has no reply. */
    gapAfterSetMs: milliseconds(2000).default(0),
    /** Longest line, bytes, without its terminator. */
    maxLine: z.number().int().min(8).max(400).default(80),
    /** Several queries may be joined by `;` and answered on one line. */
    compound: z.boolean().default(false),
  }),
  rx: z.strictObject({
    mode: z.enum(['line', 'fixed']),
    terminator: terminator.default('\n'),
    /** Silence that ends a reply of unknown length. */
    idleMs: milliseconds(1000).default(100),
    /** Longest wait for a reply, beyond the time on the wire. */
    timeoutMs: z.number().int().min(20).max(5000).default(180),
    maxBytes: z.number().int().min(16).max(4096).default(512),
    /** Characters dropped from both ends of a line. */
    strip: z.string().max(8).default('\r\0 '),
    /** A line pushed by the supply that reports an error. */
    errorLine: pattern.optional(),
    /** A line pushed by the supply that means nothing. */
    ignoreLine: pattern.optional(),
    /** A line that follows every reply and every command. */
    ack: pattern.optional(),
  }),
  session: z.strictObject({
    identify: z.strictObject({
      send: text,
      /** May name the groups maker, model, serial and firmware. */
      pattern,
      ...replyLength,
    }),
    /** How the line is proved clean after a time-out. */
    resync: z.enum(['ese-nonce', 'identity', 'known-reply']),
    knownReply: z.strictObject({ send: text, pattern, ...replyLength }).optional(),
    enter: z.array(text).max(4).default([]),
    leave: z.array(text).max(4).default([]),
    errors: z
      .strictObject({
        send: text,
        /** The reply that says there is none. */
        none: pattern,
        ...replyLength,
      })
      .optional(),
    powerOn: z
      .strictObject({ send: text, mask: z.number().int().min(1).max(0xffff), ...replyLength })
      .optional(),
    /** Silence that counts as an empty line at a resync. */
    quietMs: milliseconds(2000).default(200),
    /** Longest time of one `read` on a clean line. */
    readBudgetMs: z.number().int().min(50).max(10_000).default(400),
    /** Set-points are read back in every nth cycle. */
    setPointsEvery: z.number().int().min(1).max(100).default(4),
    /** Shortest cycle the supply can be polled at. */
    minimumCycleMs: z.number().int().min(50).max(5000).default(50),
  }),
  ops: z.strictObject({
    setVolts: setting,
    setAmps: setting,
    getVolts: valueQuery.optional(),
    getAmps: valueQuery.optional(),
    measureVolts: valueQuery,
    measureAmps: valueQuery,
    on: action,
    off: z.strictObject({
      /** Sent in front of OFF to end whatever another writer has begun. */
      leading: terminator,
      send: text,
    }),
    output: stateQuery.optional(),
    setOverVoltage: setting.optional(),
    getOverVoltage: valueQuery.optional(),
    setOverCurrent: setting.optional(),
    getOverCurrent: valueQuery.optional(),
    /**
     * Switches the protection on, for a supply that minds its level only then; left out where a level
     * acts as soon as it is set. Sent after the level, each time that one is.
     */
    enableOverVoltage: action.optional(),
    enableOverCurrent: action.optional(),
    /** Whether the protection is switched on; one that says off has not taken its enable. */
    overVoltageEnabled: stateQuery.optional(),
    overCurrentEnabled: stateQuery.optional(),
    /** An over-current switch without a level: it trips at the current set-point itself. */
    overCurrentSwitch: z.strictObject({ disable: action, state: stateQuery }).optional(),
    clearTrips: action.optional(),
    beep: action.optional(),
    minVolts: valueQuery.optional(),
    maxVolts: valueQuery.optional(),
    minAmps: valueQuery.optional(),
    maxAmps: valueQuery.optional(),
  }),
  status: z.array(status).max(8).default([]),
  limits: z.strictObject({
    minVolts: z.number().min(0).default(0),
    maxVolts: positive.max(1000),
    stepVolts: positive,
    minAmps: z.number().min(0).default(0),
    maxAmps: positive.max(1000),
    stepAmps: positive,
    /** Measured current below this counts as none. */
    offAmps: positive,
    /** Highest protection level as a share of the highest set-point. */
    protectionShare: z.number().min(1).max(2).default(1.1),
  }),
});

/** A dialect as the driver uses it: plain data, defaults filled in, cross-checked. */
export type Dialect = z.infer<typeof dialectSchema>;

/** A query for one number. */
export type ValueQuery = z.infer<typeof valueQuery>;
/** A query answered by one of two states. */
export type StateQuery = z.infer<typeof stateQuery>;
/** A command without a number. */
export type Action = z.infer<typeof action>;
/** A command that carries one number. */
export type Setting = z.infer<typeof setting>;
/** A status register or word, and what its bits or texts mean. */
export type StatusQuery = z.infer<typeof status>;
/** How the end of a reply is found where no terminator ends it. */
export type ReplyShape = Pick<ValueQuery, 'length' | 'untilIdle' | 'strayBytes'>;
