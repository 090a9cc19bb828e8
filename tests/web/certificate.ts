/** A certificate made for a test: X.509 (RFC 5280) by hand, signed by its own key on the P-256 curve. */

import { generateKeyPairSync, sign } from 'node:crypto';

function der(tag: number, ...parts: readonly Uint8Array[]): Buffer {
  const content = Buffer.concat(parts);
  const { length } = content;
  const size =
    length < 128
      ? [length]
      : length < 256
        ? [0x81, length]
        : [0x82, Math.floor(length / 256), length % 256];
  return Buffer.concat([Buffer.from([tag, ...size]), content]);
}

const sequence = (...parts: Buffer[]): Buffer => der(0x30, ...parts);
const text = (tag: number, value: string): Buffer => der(tag, Buffer.from(value, 'ascii'));

/** Object identifiers as they are encoded. */
const ids = {
  ecdsaWithSha256: der(6, Buffer.from('2a8648ce3d040302', 'hex')),
  commonName: der(6, Buffer.from('550403', 'hex')),
  subjectAltName: der(6, Buffer.from('551d11', 'hex')),
};

function utcTime(wallMs: number): Buffer {
  const digits = new Date(wallMs).toISOString().replaceAll(/\D/g, '').slice(2, 14);
  return text(0x17, `${digits}Z`);
}

function pem(label: string, bytes: Buffer): string {
  const lines = bytes.toString('base64').match(/.{1,64}/g) ?? [];
  return [`-----BEGIN ${label}-----`, ...lines, `-----END ${label}-----`, ''].join('\n');
}

/** Valid from an hour ago for so many days, for one DNS name. */
export function certificate(name: string, days = 2): { cert: string; key: string } {
  const { publicKey, privateKey } = generateKeyPairSync('ec', { namedCurve: 'P-256' });
  const fromMs = Date.now() - 3_600_000;
  const algorithm = sequence(ids.ecdsaWithSha256);
  const subject = sequence(der(0x31, sequence(ids.commonName, text(0x0c, name))));
  const names = sequence(text(0x82, name));
  const body = sequence(
    der(0xa0, der(2, Buffer.from([2]))),
    der(2, Buffer.from([1])),
    algorithm,
    subject,
    sequence(utcTime(fromMs), utcTime(fromMs + days * 86_400_000)),
    subject,
    publicKey.export({ type: 'spki', format: 'der' }),
    der(0xa3, sequence(sequence(ids.subjectAltName, der(4, names)))),
  );
  const signature = der(3, Buffer.from([0]), sign('sha256', body, privateKey));
  return {
    cert: pem('CERTIFICATE', sequence(body, algorithm, signature)),
    key: privateKey.export({ type: 'pkcs8', format: 'pem' }).toString(),
  };
}
