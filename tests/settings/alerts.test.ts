/** The alert channels in bench.toml: what loads, what is refused by name and why, templates, secrets. */

import { join } from 'node:path';
import { afterAll, describe, expect, it } from 'vitest';
import { fillTemplate } from '../../daemon/settings/door.ts';
import { templateProblem } from '../../daemon/settings/template.ts';
import { BenchFolder, benchToml } from './bench-folder.ts';

const folder = new BenchFolder();
afterAll(() => folder.remove());

const webhook = `
[[alerts.channels]]
name = "phone"
kind = "webhook"
url = "https://push.example/topic"
`;
const email = `
[[alerts.channels]]
name = "mail"
kind = "email"
host = "mail.studio.example"
from = "bench@studio.example"
to = ["maker@studio.example"]
`;
const command = `
[[alerts.channels]]
name = "bell"
kind = "command"
program = "bin/ring"
`;

const load = (text: string) => folder.load(benchToml + text).settings.alerts;
const refusals = (text: string) => folder.refusals(benchToml + text);

describe('alert channels', () => {
  it('are none where none are named', () => {
    expect(load('')).toEqual({ channels: [], deadMan: null });
  });

  it('of every kind load with what is usual', () => {
    const { channels, deadMan } = load(
      `${webhook}${email}${command}
[[alerts.channels]]
name = "beeper"
kind = "beeper"
[alerts.deadMan]
url = "https://watch.example/abc"
`,
    );
    expect(deadMan).toEqual({ url: 'https://watch.example/abc' });
    expect(channels).toEqual([
      {
        kind: 'webhook',
        name: 'phone',
        leastPriority: 'note',
        url: 'https://push.example/topic',
        format: 'text',
        body: null,
        headers: {},
        priorityWords: null,
      },
      {
        kind: 'email',
        name: 'mail',
        leastPriority: 'note',
        host: 'mail.studio.example',
        port: null,
        security: 'tls',
        user: null,
        password: null,
        from: 'bench@studio.example',
        to: ['maker@studio.example'],
        certificateFile: null,
      },
      {
        kind: 'command',
        name: 'bell',
        leastPriority: 'note',
        program: join(folder.path, 'bin/ring'),
        arguments: [],
        timeoutSeconds: 10,
      },
      { kind: 'beeper', name: 'beeper', leastPriority: 'stopped' },
    ]);
  });

  it('find files of secrets from the settings file on', () => {
    const { channels } = load(
      `${email}user = "bench"
password = { file = "word" }
${webhook.replace('"https://push.example/topic"', '{ file = "address" }')}headers = { Authorization = { file = "token" }, Tags = "bench" }
`,
    );
    expect(channels).toMatchObject([
      { password: { file: join(folder.path, 'word') } },
      {
        url: { file: join(folder.path, 'address') },
        headers: { Authorization: { file: join(folder.path, 'token') }, Tags: 'bench' },
      },
    ]);
  });

  it.each([
    [`${webhook}leastPriority = "all"`, 'leastPriority', '"note"'],
    [webhook.replace('https://', 'file://'), 'url', 'https://'],
    [webhook.replace('https://', 'https://me:word@'), 'url', 'without a password'],
    [webhook.replace('"https://push.example/topic"', '{ env = "X" }'), 'url', 'environment'],
    [webhook.replace('"phone"', '"a/b"'), 'name', '40 letters'],
    [`${webhook}format = "xml"`, 'format', '"json"'],
    [`${webhook}body = "{titel}"`, 'body', '{title}'],
    [`${webhook}format = "json"\nbody = '{"a": {title}}'`, 'body', 'quotation marks'],
    [`${webhook}headers = { Host = "x" }`, 'headers.Host', 'yours to set'],
    [`${webhook}headers = { "a b" = "x" }`, 'headers.a b', 'headers'],
    [`${webhook}headers = { A = 3 }`, 'headers.A', '1000 characters'],
    [`${email}password = "hush"`, 'password', 'environment'],
    [`${email}password = { environment = "WORD" }`, 'user', 'together'],
    [`${email}user = "bench"`, 'password', 'together'],
    [email.replace('["maker@studio.example"]', '[]'), 'to', '1 to 10'],
    [email.replace('["maker@studio.example"]', '["a@b.example, c@d.example"]'), 'to[0]', 'bare'],
    [email.replace('"bench@studio.example"', '"Bench <b@studio.example>"'), 'from', 'bare'],
    [`${email}port = 0`, 'port', '65535'],
    [
      `${email}security = "none"\nuser = "bench"\npassword = { environment = "WORD" }`,
      'security',
      'another machine',
    ],
    [command.replace('"bin/ring"', '"~/ring"'), 'program', 'not understood'],
    [`${command}timeoutSeconds = 61`, 'timeoutSeconds', '60'],
    [`${command}arguments = "x"`, 'arguments', 'a list'],
  ])('are refused by name: %s', (text, key, bound) => {
    const problems = refusals(text);
    expect(problems.map(({ field }) => field)).toEqual([`alerts.channels[0].${key}`]);
    expect(problems[0]?.bound).toContain(bound);
    expect(problems[0]?.line).not.toBeNull();
    expect(problems[0]?.message).not.toContain('hush');
  });

  it('are told apart by name, and bounded in number', () => {
    const [twice] = refusals(webhook + webhook.replace('"phone"', '"Phone"'));
    expect(twice).toMatchObject({
      field: 'alerts.channels[1].name',
      bound: expect.stringContaining('unlike'),
    });
    const nine = Array.from({ length: 9 }, (_, n) => webhook.replace('phone', `phone ${n}`)).join(
      '',
    );
    expect(refusals(nine)[0]).toMatchObject({
      field: 'alerts.channels',
      bound: expect.stringContaining('eight'),
    });
  });

  it('know their keys, and guess what a mistyped one means', () => {
    expect(refusals(`${webhook}adress = "x"`)[0]?.message).toContain('is not a known key');
    expect(refusals(`${webhook}leastpriority = "note"`)[0]?.message).toContain('leastPriority');
    expect(refusals('[alerts]\nchanels = []\n')[0]?.message).toContain('channels');
    expect(refusals('[alerts.deadMan]\nurl = "https://a.example"\nevery = 5\n')[0]?.field).toBe(
      'alerts.deadMan.every',
    );
  });
});

describe('a template', () => {
  const filling = {
    title: 'A "b" {text}',
    text: 'c\nd \\ e',
    priority: '5',
    tank: 'beaker',
    time: 't',
    id: 'alarm-1',
    studio: 's',
  };

  it('fills each placeholder once, and leaves what is none', () => {
    expect(fillTemplate('{title}|{text}|{a1}|{ id }|{}', 'text', filling)).toBe(
      'A "b" {text}|c\nd \\ e|{a1}|{ id }|{}',
    );
  });

  it('in JSON cannot be left by what is filled in', () => {
    const filled = fillTemplate('{"t":"{title}","x":["{text}"],"n":{priority}}', 'json', filling);
    expect(JSON.parse(filled)).toEqual({ t: 'A "b" {text}', x: ['c\nd \\ e'], n: 5 });
  });

  it('is judged with words that break what is not escaped', () => {
    const words = { stopped: '5', 'act-soon': '4', note: '2' };
    expect(templateProblem('{"n":{priority}}', 'json', words)).toBeNull();
    expect(templateProblem('{"n":{priority}}', 'json', null)).toContain('quotation marks');
    expect(templateProblem('{"n":{priority}}', 'json', { ...words, note: 'low' })).not.toBeNull();
    expect(templateProblem('{"n":"{priority}"}', 'json', null)).toBeNull();
    expect(templateProblem('{title} {text}', 'text', null)).toBeNull();
  });
});
