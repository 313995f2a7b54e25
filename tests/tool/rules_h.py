"""The rules of src/base/rules.h, read as text: [(group, meaning, [(name, severity, title, source)])]."""
import os
import re

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
GROUP = re.compile(r"/\* (\w+): ([^*]+?) \*/\n#define \w+_RULES\(R\)(.*?)(?=\n\n)", re.S)
RULE = re.compile(r'\bR\(\s*\w+,\s*"([^"]+)",\s*(\w+),((?:\s*"[^"]*")+),((?:\s*"[^"]*")+)\s*\)')


def joined(text):
    """C's neighbouring string literals as one."""
    return "".join(re.findall(r'"([^"]*)"', text))


def read():
    with open(os.path.join(ROOT, "src", "base", "rules.h"), encoding="utf-8") as file:
        text = re.sub(r" *\\\n", "\n", file.read())
    return [(group, meaning, [(name, severity.lower(), joined(title), joined(source))
                              for name, severity, title, source in RULE.findall(body)])
            for group, meaning, body in GROUP.findall(text + "\n\n")]


def names():
    return [rule[0] for _, _, rules in read() for rule in rules]
