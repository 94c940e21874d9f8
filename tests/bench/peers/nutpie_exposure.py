"""The posterior of edges and runs by nutpie, on a model written in PyMC: arguments are the folder of edges.csv and
runs.csv, and a seed. Both ways of writing the machines' effects are sampled; the one that gives more effective draws a
second is told."""
import json
import pathlib
import sys
import time

try:
    import arviz
    import nutpie
    import pymc
except ImportError:
    sys.exit(77)
import numpy
import pandas
import pytensor.tensor as tensor

folder, seed = pathlib.Path(sys.argv[1]), int(sys.argv[2])
runs = pandas.read_csv(folder / "runs.csv").sort_values(["edge_id", "run"], kind="stable")
edges = pandas.read_csv(folder / "edges.csv").sort_values("edge_id", kind="stable").reset_index(drop=True)
covariates = [name for name in runs.columns if name not in ("edge_id", "run", "hours")]
x, hours = runs[covariates].to_numpy(float), runs["hours"].to_numpy(float)
first = numpy.searchsorted(runs["edge_id"].to_numpy(), edges["edge_id"].to_numpy())
machines, machine = numpy.unique(edges["machine"], return_inverse=True)
kind = edges["kind"].to_numpy()
sharp, dull = edges["sharp_run"].fillna(0).to_numpy(int), edges["dull_run"].fillna(0).to_numpy(int)
struck, clock = int(edges["struck"].sum()), float(hours.sum())
exact = numpy.flatnonzero(kind == "exact")
within = numpy.flatnonzero((kind == "interval") | (kind == "left"))
right = numpy.flatnonzero((kind == "right") & (sharp > 0))
# As in tests/reference/changing_exposure/priors.toml; the README beside it has the likelihood.
priors = {"beta": ([0.3, 0.7, 0.2], [0.2, 0.4, 0.3])}


def model(centred):
    with pymc.Model() as model:
        log_eta = pymc.Normal("log_eta", numpy.log(15.0), 0.6)
        log_kappa = pymc.Normal("log_kappa", numpy.log(2.0), 0.3)
        beta = pymc.Normal("beta", *map(numpy.array, priors["beta"]), shape=len(covariates))
        sigma_b = pymc.HalfNormal("sigma_b", 0.3)
        if centred:
            b = pymc.Normal("b", 0.0, sigma_b, shape=len(machines))
        else:
            b = pymc.Deterministic("b", sigma_b * pymc.Normal("z", 0.0, 1.0, shape=len(machines)))
        log_lambda = pymc.Normal("log_lambda", numpy.log(0.01), 1.0)
        log_rates = tensor.dot(x, beta)
        worn = tensor.concatenate([numpy.zeros(1), tensor.cumsum(hours * tensor.exp(log_rates))])
        kappa, log_lives = tensor.exp(log_kappa), log_eta + b[machine]

        def hazard(which, run):
            wear = worn[first[which] + run[which]] - worn[first[which]]
            return tensor.exp(kappa * (tensor.log(wear) - log_lives[which])), wear

        at, wear = hazard(exact, dull)
        last = log_rates[first[exact] + dull[exact] - 1]
        pymc.Potential("exact", tensor.sum(log_kappa - tensor.log(wear) + tensor.log(at) - at + last))
        known = within[sharp[within] > 0]
        alive = tensor.set_subtensor(
            tensor.zeros(len(within))[numpy.flatnonzero(sharp[within] > 0)], hazard(known, sharp)[0]
        )
        ended = hazard(within, dull)[0]
        pymc.Potential("within", tensor.sum(-alive + tensor.log(-tensor.expm1(alive - ended))))
        pymc.Potential("right", -tensor.sum(hazard(right, sharp)[0]))
        pymc.Potential("strikes", struck * log_lambda - tensor.exp(log_lambda) * clock)
    return model


def sampled(centred):
    start = time.perf_counter()
    compiled = nutpie.compile_pymc_model(model(centred))
    compiling = time.perf_counter() - start
    start = time.perf_counter()
    trace = nutpie.sample(compiled, draws=1000, tune=500, chains=4, cores=2, seed=seed, progress_bar=False)
    seconds = time.perf_counter() - start
    told = trace.posterior[["log_eta", "log_kappa", "beta", "sigma_b", "b", "log_lambda"]]
    effective = min(float(values.min()) for values in arviz.ess(told).values())
    beta = told["beta"].mean(("chain", "draw")).to_numpy()
    names = {"log_eta": "log_eta", "log_kappa": "log_kappa", "sigma_b": "sigma_b", "log_lambda": "log_lambda"}
    means = {name: float(told[key].mean()) for name, key in names.items()}
    means.update({f"beta_{name}": float(value) for name, value in zip(covariates, beta)})
    return {
        "version": f"nutpie {nutpie.__version__}, PyMC {pymc.__version__}",
        "centred": centred,
        "compiling": compiling,
        "seconds": seconds,
        "effective": effective,
        "divergences": int(trace.sample_stats["diverging"].sum()),
        "means": means,
    }


print(json.dumps(max(map(sampled, (True, False)), key=lambda run: run["effective"] / run["seconds"])))
