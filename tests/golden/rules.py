#!/usr/bin/python3
"""Every rule of src/base/rules.h has a golden case that fires it and one in which it stays quiet.
(That the cases tell the truth is what run.py checks, case by case.)

`elsewhere.txt` names the few rules that no job is known to fire, each with the test that shows that
what stands behind it works.
"""
import os
import sys

import run
import rules_h


def read_elsewhere(rules, problems):
    """Rules of elsewhere.txt; a line is `RULE FILE TEXT`, and FILE must hold TEXT."""
    found = set()
    for line in run.read(os.path.join(run.HERE, "elsewhere.txt"), b"").decode().splitlines():
        if not line.strip() or line.startswith("#"):
            continue
        rule, name, text = line.split(None, 2)
        test = run.read(os.path.join(run.ROOT, name), b"").decode()
        if rule not in rules or text not in test:
            problems.append(f"elsewhere.txt: no rule '{rule}', or no '{text}' in {name}")
        found.add(rule)
    return found


def main():
    rules = rules_h.names()
    covered = {"fires": set(), "quiet": set()}
    problems = []
    for name in sorted(os.listdir(run.HERE)):
        case = os.path.join(run.HERE, name)
        if os.path.isdir(case):
            for word, rule in run.rule_lines(case):
                covered[word].add(rule)
                if rule not in rules:
                    problems.append(f"tests/golden/{name}/rules: no rule '{rule}'")
    elsewhere = read_elsewhere(rules, problems)
    for rule in rules:
        missing = [word for word in ("fires", "quiet") if rule not in covered[word]]
        if rule in elsewhere:
            missing = [word for word in missing if word == "quiet"]
        problems += [f"rule {rule}: no golden case with '{word}: {rule}'" for word in missing]
    if not rules:
        problems.append("no rule found in src/base/rules.h: has its form changed?")
    if problems:
        sys.exit("\n".join(problems))
    print(f"{len(rules)} rules with a case that stays quiet, {len(rules) - len(elsewhere)} with one "
          "that fires them")


main()
