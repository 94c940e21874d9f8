"""Writes the Parquet files of this folder from the CSV tables named below, with three other writers' defaults and types.

pip install pyarrow pandas polars; python tests/reference/parquet/write.py (from the top of the repository).
"""
from pathlib import Path

import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.csv
import pyarrow.parquet as pq

HERE = Path("tests/reference/parquet")
EDGES = "tests/reference/changing_exposure/edges.csv"
RUNS = "tests/reference/changing_exposure/runs.csv"
LIVES = "datasets/published/insulating_fluid.csv"


def by_pandas():
    """Its defaults: snappy, dictionaries, whole numbers with gaps as floats."""
    pd.read_csv(EDGES).to_parquet(HERE / "edges_pandas.parquet")
    pd.read_csv(RUNS).to_parquet(HERE / "runs_pandas.parquet")


def by_polars():
    """Its defaults: zstd; gaps stay gaps."""
    pl.read_csv(EDGES).write_parquet(HERE / "edges_polars.parquet")
    pl.read_csv(LIVES).write_parquet(HERE / "lives_polars.parquet", row_group_size=30)


def by_arrow():
    """Other types, small groups of rows, small pages, columns in another order."""
    edges = pyarrow.csv.read_csv(EDGES)
    words = pa.dictionary(pa.int8(), pa.string())
    types = {
        "kind": words,
        "machine": pa.dictionary(pa.int16(), pa.large_string()),
        "regime": pa.large_string(),
        "edge_id": pa.string(),
        "struck": pa.bool_(),
        "n_runs": pa.uint8(),
        "sharp_run": pa.int16(),
        "dull_run": pa.int32(),
        "hours_total": pa.float32(),
    }
    columns = {}
    for name, kind in types.items():
        column = edges[name]
        if pa.types.is_dictionary(kind):
            column = column.cast(kind.value_type).dictionary_encode().cast(kind)
        columns[name] = column.cast(kind)
    pq.write_table(pa.table(columns), HERE / "edges_arrow.parquet", row_group_size=50, compression="zstd",
                   write_statistics=False)
    runs = pyarrow.csv.read_csv(RUNS)
    types = {
        "hours": pa.float64(),
        "edge_id": pa.large_string(),
        "run": pa.int8(),
        "hard": pa.float32(),
        "dirt": pa.bool_(),
        "frozen": pa.int64(),
    }
    columns = {name: runs[name].cast(kind) for name, kind in types.items()}
    pq.write_table(
        pa.table(columns), HERE / "runs_arrow.parquet", row_group_size=200, data_page_size=512,
        data_page_version="2.0", compression="snappy", use_dictionary=["edge_id"], write_statistics=False,
    )


def with_faults():
    """Tables of two edges that cannot be used."""
    runs = {"edge_id": ["a", "a", "b"], "run": [1, 2, 1], "hours": [3.0, 2.5, 4.0]}

    def write(name, columns, **how):
        pq.write_table(pa.table(columns), HERE / f"{name}.parquet", **how)

    write("edges_of_two", {"edge_id": ["a", "b"], "kind": ["interval", "right"], "sharp_run": [1, 1],
                           "dull_run": pa.array([2, None], pa.int64())})
    write("runs_without_hours", {name: runs[name] for name in ["edge_id", "run"]})
    write("runs_with_a_gap", runs | {"hours": [3.0, None, 4.0]})
    write("runs_in_words", runs | {"hours": ["3.0", "2.5", "four"]})
    write("runs_on_days", runs | {"day": pa.array([0, 1, 2], pa.date32())})
    write("runs_in_lists", runs | {"hours": [[3.0], [2.5], [4.0]]})
    write("runs_in_gzip", runs, compression="gzip")
    write("runs_in_bytes", runs | {"edge_id": pa.array([b"a", b"\xff", b"b"], pa.binary())})
    write("runs_none", {name: column[:0] for name, column in pa.table(runs).to_pydict().items()} | {
        "edge_id": pa.array([], pa.string()), "run": pa.array([], pa.int64()), "hours": pa.array([], pa.float64())})


by_pandas()
by_polars()
by_arrow()
with_faults()
