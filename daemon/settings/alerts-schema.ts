/** The strict schema of the tables under alerts: the channels by which a person is told. */

import { z } from 'zod';
import { patterned, text, wholeNumber } from './fields.ts';
import type { AlertSettings, ChannelSettings } from './model.ts';
import { templateProblem } from './template.ts';

const path = (description: string) =>
  patterned(
    /^(?!~)\P{Cc}{1,1024}$/u,
    'a path written out in full or from this file on ("~" is not understood)',
    description,
  );

const secretSchema = z.union(
  [
    z.strictObject({
      environment: patterned(
        /^[A-Za-z_][A-Za-z0-9_]{0,99}$/,
        'the name of a variable',
        'The variable of the environment that holds it.',
      ),
    }),
    z.strictObject({ file: path('A file that holds it and nothing else.') }),
  ],
  { error: '{ environment = "NAME" } or { file = "path" }' },
);

/** An address of the web, without a password in it. */
function isWebAddress(value: string): boolean {
  if (!/^https?:\/\/[^\s\p{Cc}]{1,2000}$/u.test(value) || !URL.canParse(value)) return false;
  const { username, password } = new URL(value);
  return username === '' && password === '';
}

const addressBound = 'an address that begins with https:// or http://, without a password in it';
const addressSchema = z.union(
  [
    z
      .string()
      .refine(isWebAddress, { error: addressBound })
      .describe('The address, or where it is kept if it holds a secret.'),
    secretSchema,
  ],
  { error: `${addressBound}, or { environment = "NAME" }, or { file = "path" }` },
);

const common = {
  name: patterned(
    /^[A-Za-z0-9][A-Za-z0-9 _-]{0,39}$/,
    '1 to 40 letters, digits, spaces, - or _',
    'The name of the channel in lists, in the log and in commands.',
  ),
  leastPriority: z
    .enum(['note', 'act-soon', 'stopped'], { error: '"note", "act-soon" or "stopped"' })
    .default('note')
    .describe('The least grave messages sent here: "note" is all, "stopped" only what is grave.'),
};

const mailbox = (description: string) =>
  patterned(
    /^[^\s@<>,;:"()[\]\\]{1,64}@[A-Za-z0-9][A-Za-z0-9.-]{0,252}$/,
    'a bare address such as bench@studio.example',
    description,
  );

const emailSchema = z.strictObject({
  kind: z.literal('email'),
  ...common,
  host: patterned(
    /^[A-Za-z0-9](?:[A-Za-z0-9._:-]{0,252})$|^::1$/,
    'a host name or an address',
    'The mail server that takes mail from you.',
  ),
  port: wholeNumber(1, 65_535, 'Its port; left out, 465, 587 or 25 by security.')
    .optional()
    .transform((port) => port ?? null),
  security: z
    .enum(['tls', 'starttls', 'none'], { error: '"tls", "starttls" or "none"' })
    .default('tls')
    .describe('tls from the first byte, starttls after a greeting, none in the clear.'),
  user: text(200, 'The name to log in with; left out, there is no log-in.')
    .optional()
    .transform((user) => user ?? null),
  password: secretSchema
    .optional()
    .transform((password) => password ?? null)
    .describe('Where the password is kept; never the password itself.'),
  from: mailbox('The sender.'),
  to: z
    .array(mailbox('A receiver.'), { error: 'a list of 1 to 10 addresses' })
    .min(1, { error: 'a list of 1 to 10 addresses' })
    .max(10, { error: 'a list of 1 to 10 addresses' }),
  certificateFile: path('A certificate (PEM) to trust, for a mail server of your own.')
    .optional()
    .transform((file) => file ?? null),
});

/** Headers that belong to the request itself. */
const ownHeaders = /^(?:host|content-length|transfer-encoding|connection|expect|upgrade|te)$/i;
const headerName = z
  .string()
  .regex(/^[A-Za-z0-9!#$%&'*+.^_`|~-]{1,60}$/, { error: 'a header named by letters, digits and -' })
  .refine((name) => !ownHeaders.test(name), {
    error: 'left out: only other headers are yours to set',
  });

const webhookSchema = z.strictObject({
  kind: z.literal('webhook'),
  ...common,
  url: addressSchema,
  format: z
    .enum(['text', 'json'], { error: '"text" or "json"' })
    .default('text')
    .describe('What the body is: plain text, or JSON, in which placeholders are escaped.'),
  body: z
    .string({ error: 'text of up to 4000 characters' })
    .min(1, { error: 'text of up to 4000 characters' })
    .max(4000, { error: 'text of up to 4000 characters' })
    .describe('The body with {title}, {text}, {priority}, {tank}, {time}, {id} and {studio} in it.')
    .optional()
    .transform((body) => body ?? null),
  headers: z
    .record(
      headerName,
      z.union([text(1000, 'The value; placeholders may stand in it.'), secretSchema], {
        error: 'text of 1 to 1000 characters, or { environment = "NAME" }, or { file = "path" }',
      }),
      { error: 'a table of headers that are yours to set' },
    )
    .default({}),
  priorityWords: z
    .strictObject({
      stopped: text(40, 'For what is grave.'),
      'act-soon': text(40, 'For what should be seen to soon.'),
      note: text(40, 'For what is good to know.'),
    })
    .optional()
    .transform((words) => words ?? null)
    .describe('What {priority} becomes, in the words of who receives it.'),
});

const commandSchema = z.strictObject({
  kind: z.literal('command'),
  ...common,
  program: path('The program, by its path. It is started as it is, without a shell.'),
  arguments: z
    .array(
      z
        .string({ error: 'texts of up to 1000 characters' })
        .max(1000, { error: 'texts of up to 1000 characters' })
        .regex(/^[^\0]*$/, { error: 'texts of up to 1000 characters' }),
      { error: 'a list of texts' },
    )
    .max(50, { error: 'a list of up to 50 texts' })
    .default([])
    .describe('Its arguments, always the same. The message comes on its standard input.'),
  timeoutSeconds: wholeNumber(1, 60, 'After so long it is ended, seconds.').default(10),
});

const beeperSchema = z.strictObject({
  kind: z.literal('beeper'),
  ...common,
  leastPriority: common.leastPriority.removeDefault().default('stopped'),
});

const channelSchema = z
  .discriminatedUnion('kind', [emailSchema, webhookSchema, commandSchema, beeperSchema])
  .superRefine((channel, context) => {
    for (const [key, message] of channelProblems(channel)) {
      context.addIssue({ code: 'custom', path: [key], message });
    }
  });

/** What no single field can see: templates by their format, and passwords that would be overheard. */
function channelProblems(channel: ChannelSettings): readonly (readonly [string, string])[] {
  if (channel.kind === 'webhook') {
    const { body, format } = channel;
    const problem = body === null ? null : templateProblem(body, format, channel.priorityWords);
    return problem === null ? [] : [['body', problem]];
  }
  if (channel.kind !== 'email') return [];
  const { user, password, security, host } = channel;
  if ((user === null) !== (password === null)) {
    return [[user === null ? 'user' : 'password', 'given together with the other of the two']];
  }
  const here = /^(?:localhost|127(?:\.\d{1,3}){3}|::1)$/i.test(host);
  if (security === 'none' && password !== null && !here) {
    return [['security', '"tls" or "starttls", since a password is sent to another machine']];
  }
  return [];
}

const channelsBound = 'up to eight tables [[alerts.channels]]';

export const alertsSchema = z
  .strictObject({
    channels: z
      .array(channelSchema, { error: channelsBound })
      .max(8, { error: channelsBound })
      .default([]),
    deadMan: z
      .strictObject({ url: addressSchema })
      .optional()
      .transform((deadMan) => deadMan ?? null)
      .describe(
        'An address elsewhere, called every minute while the bench is watched. When the calls stop, it is for whoever runs that address to tell you.',
      ),
  })
  .describe('Who is told, and how, when something happens or a run ends.');

/** The keys known in these tables; see `knownKeys`. */
export const alertKeys: Readonly<Record<string, readonly string[]>> = {
  alerts: Object.keys(alertsSchema.shape),
  'alerts.channels[]': [
    ...new Set(
      [emailSchema, webhookSchema, commandSchema, beeperSchema].flatMap((one) =>
        Object.keys(one.shape),
      ),
    ),
  ],
  'alerts.channels[].priorityWords': ['stopped', 'act-soon', 'note'],
  'alerts.deadMan': ['url'],
};

type Same<A extends B, B> = A;
/** @lintignore The compiler is its only reader. */
export type AlertChecks = [
  Same<z.output<typeof alertsSchema>, AlertSettings>,
  Same<z.output<typeof channelSchema>, ChannelSettings>,
];
