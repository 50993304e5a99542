// SHA-256 (FIPS 180-4) piece by piece: a browser's own takes a file only as a whole, and on the local network not at all.

const K = new Uint32Array(64);
const START = new Uint32Array(8);
// The constants are the first 32 bits of the broken part of the roots of the first primes (FIPS 180-4, 4.2.2 and 5.3.3).
for (let n = 2, found = 0; found < 64; n += 1) {
  let prime = true;
  for (let d = 2; d * d <= n && prime; d += 1) prime = n % d !== 0;
  if (!prime) continue;
  K[found] = broken(Math.cbrt(n));
  if (found < 8) START[found] = broken(Math.sqrt(n));
  found += 1;
}

function broken(root) {
  return Math.floor((root - Math.floor(root)) * 2 ** 32);
}

export class Sha256 {
  #h = START.slice();
  #w = new Int32Array(64);
  #held = new Uint8Array(64);
  #count = 0;
  #bytes = 0;

  /** Take in further bytes (Uint8Array). */
  update(bytes) {
    this.#bytes += bytes.length;
    let at = 0;
    if (this.#count) {
      at = Math.min(64 - this.#count, bytes.length);
      this.#held.set(bytes.subarray(0, at), this.#count);
      this.#count += at;
      if (this.#count < 64) return this;
      this.#block(this.#held, 0);
      this.#count = 0;
    }
    for (; at + 64 <= bytes.length; at += 64) this.#block(bytes, at);
    this.#held.set(bytes.subarray(at), 0);
    this.#count = bytes.length - at;
    return this;
  }

  /** Give the 64 hexadecimal digits; nothing can be taken in after it. */
  digest() {
    const whole = this.#bytes;
    const end = new Uint8Array(this.#count < 56 ? 64 - this.#count : 128 - this.#count);
    end[0] = 0x80;
    const view = new DataView(end.buffer);
    view.setUint32(end.length - 8, Math.floor(whole / 2 ** 29));
    view.setUint32(end.length - 4, (whole * 8) >>> 0);
    this.update(end);
    return Array.from(this.#h, (part) => part.toString(16).padStart(8, "0")).join("");
  }

  #block(bytes, from) {
    const w = this.#w;
    const h = this.#h;
    for (let i = 0, at = from; i < 16; i += 1, at += 4) {
      w[i] = (bytes[at] << 24) | (bytes[at + 1] << 16) | (bytes[at + 2] << 8) | bytes[at + 3];
    }
    for (let i = 16; i < 64; i += 1) {
      const x = w[i - 15];
      const y = w[i - 2];
      const s0 = ((x >>> 7) | (x << 25)) ^ ((x >>> 18) | (x << 14)) ^ (x >>> 3);
      const s1 = ((y >>> 17) | (y << 15)) ^ ((y >>> 19) | (y << 13)) ^ (y >>> 10);
      w[i] = (w[i - 16] + s0 + w[i - 7] + s1) | 0;
    }
    let a = h[0] | 0, b = h[1] | 0, c = h[2] | 0, d = h[3] | 0, e = h[4] | 0, f = h[5] | 0, g = h[6] | 0, k = h[7] | 0;
    for (let i = 0; i < 64; i += 1) {
      const s1 = ((e >>> 6) | (e << 26)) ^ ((e >>> 11) | (e << 21)) ^ ((e >>> 25) | (e << 7));
      const t1 = (k + s1 + ((e & f) ^ (~e & g)) + K[i] + w[i]) | 0;
      const s0 = ((a >>> 2) | (a << 30)) ^ ((a >>> 13) | (a << 19)) ^ ((a >>> 22) | (a << 10));
      const t2 = (s0 + ((a & b) ^ (a & c) ^ (b & c))) | 0;
      k = g; g = f; f = e; e = (d + t1) | 0; d = c; c = b; b = a; a = (t1 + t2) | 0;
    }
    h[0] += a; h[1] += b; h[2] += c; h[3] += d; h[4] += e; h[5] += f; h[6] += g; h[7] += k;
  }
}
