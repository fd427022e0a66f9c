"""The same network for two general-purpose libraries, pyAgrum and pgmpy.

A finding with many parents is built as a chain of maxima of two, so that no table grows with
the number of causes; this is the form kindest to the libraries. Only the findings looked at are
built: the others cannot move a cause, and leaving them out is kind to the libraries too.
"""

import importlib
import itertools
import warnings


def pyagrum_engine(network, evidence):
    """Build the network and return a function that infers every cause's posterior.

    Building is not part of what the function does.
    """
    gum = _imported("pyagrum")
    net = gum.BayesNet()
    for cause in network.causes:
        net.add(gum.LabelizedVariable(cause.id, cause.id, 2))
        net.cpt(cause.id).fillWith([1 - cause.prior, cause.prior])
    for name, states, parents, rows in chain(network, evidence):
        net.add(gum.LabelizedVariable(name, name, states))
        for parent in parents:
            net.addArc(parent, name)
        if not parents:
            net.cpt(name).fillWith(rows[()])
            continue
        for given, row in rows.items():
            net.cpt(name)[dict(zip(parents, given, strict=True))] = row
    told = {ends(network)[name]: list(weights) for name, weights in evidence.items()}

    def infer():
        engine = gum.LazyPropagation(net)
        engine.setEvidence(told)
        engine.makeInference()
        return {cause.id: float(engine.posterior(cause.id)[1]) for cause in network.causes}

    return infer


def pgmpy_engine(network, evidence):
    """Build the network and return a function that infers the posteriors that can move.

    A cause that no finding looked at speaks of keeps its prior; asking pgmpy for it would
    only cost it time. Evidence is one level of each finding.
    """
    models = _imported("pgmpy.models")
    factors = _imported("pgmpy.factors.discrete")
    inference = _imported("pgmpy.inference")
    asked = [one.id for one in network.causes if _speaks(network, evidence, one.id)]
    net = models.DiscreteBayesianNetwork()
    for cause in network.causes:
        if cause.id in asked:
            net.add_node(cause.id)
            net.add_cpds(factors.TabularCPD(cause.id, 2, [[1 - cause.prior], [cause.prior]]))
    for name, states, parents, rows in chain(network, evidence):
        net.add_node(name)
        net.add_edges_from([(parent, name) for parent in parents])
        sizes = [len({given[place] for given in rows}) for place in range(len(parents))]
        columns = [rows[given] for given in itertools.product(*map(range, sizes))]
        table = [list(row) for row in zip(*columns, strict=True)]
        more = {"evidence": parents, "evidence_card": sizes} if parents else {}
        net.add_cpds(factors.TabularCPD(name, states, table, **more))
    last = ends(network)
    told = {last[name]: max(range(len(row)), key=row.__getitem__) for name, row in evidence.items()}

    def infer():
        engine = inference.VariableElimination(net)
        found = {cause.id: cause.prior for cause in network.causes}
        for cause in asked:
            found[cause] = float(
                engine.query([cause], evidence=told, show_progress=False).values[1]
            )
        return found

    return infer


def chain(network, evidence):
    """Yield (name, states, parents, rows) of the variables that make up the findings.

    `rows` is the states of the parents to the chances of the variable's own.
    """
    for finding in network.findings:
        if finding.id not in evidence:
            continue
        count = len(finding.levels)
        so_far = f"{finding.id}/leak"
        yield so_far, count, [], {(): _steps(finding.leak)}
        for cause, row in finding.links.items():
            alone = _steps(row)
            rows = {}
            for before in range(count):
                rows[before, 0] = [1.0 if level == before else 0.0 for level in range(count)]
                rows[before, 1] = [
                    sum(p for k, p in enumerate(alone) if max(k, before) == level)
                    for level in range(count)
                ]
            name = f"{finding.id}/{cause}"
            yield name, count, [so_far, cause], rows
            so_far = name


def ends(network):
    """Return, for each finding, the variable at the end of its chain."""
    return {
        one.id: f"{one.id}/{list(one.links)[-1] if one.links else 'leak'}"
        for one in network.findings
    }


def _steps(row):
    full = [*row, 1.0]
    return [full[0], *(high - low for low, high in itertools.pairwise(full))]


def _speaks(network, evidence, cause):
    return any(cause in network.finding_by_id[name].links for name in evidence)


def _imported(name):
    # Both warn while they are loaded, which is none of the bench's business.
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        return importlib.import_module(name)
