"""Reads stdin with the parser of the Prometheus client library: openmetrics.py openmetrics|text."""

import sys

from prometheus_client import openmetrics, parser
import prometheus_client.openmetrics.parser

text = sys.stdin.read()
if sys.argv[1] == "openmetrics":
    families = list(openmetrics.parser.text_string_to_metric_families(text))
else:
    families = list(parser.text_string_to_metric_families(text))
for family in families:
    print(family.type, family.name, len(family.samples))
