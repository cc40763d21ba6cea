"""Checks the container files as far as that goes without a container engine.

- `docker-compose.yml` against the public schema of compose files (the copy that the package check-jsonschema carries).
- Its services against each other and against the server: every `OSTLERD_...` variable is one that `server/src` reads, the
  ports are those that the server listens on and loopback on this machine, every service says when it is healthy, volumes
  and dependencies exist.
- `server/Dockerfile`: known instructions, sources that exist, a user without rights at the end.

Not checked: that the images build, start and find each other.
"""

import json
import re
import sys
from importlib import resources
from pathlib import Path

import jsonschema
import yaml

ROOT = Path(__file__).resolve().parents[2]
INSTRUCTIONS = set(
    "ADD ARG CMD COPY ENTRYPOINT ENV EXPOSE FROM HEALTHCHECK LABEL ONBUILD RUN SHELL STOPSIGNAL USER VOLUME WORKDIR".split()
)


def variables_of_server():
    """The variables that the sources of the server name."""
    text = "\n".join(path.read_text(encoding="utf-8") for path in (ROOT / "server/src").rglob("*.rs"))
    return set(re.findall(r'"(OSTLERD_[A-Z_]+)"', text))


def schema_faults(compose):
    package = resources.files("check_jsonschema") / "builtin_schemas" / "vendor" / "compose-spec.json"
    schema = json.loads(package.read_text(encoding="utf-8"))
    validator = jsonschema.validators.validator_for(schema)(schema)
    for error in validator.iter_errors(compose):
        yield f"{error.json_path}: {error.message}"


def service_faults(compose):
    known = variables_of_server()
    if "OSTLERD_DATABASE" not in known:
        yield "server/src names no variable OSTLERD_DATABASE: this check looks in the wrong place"
    volumes = set(compose.get("volumes", {}))
    for name, service in compose["services"].items():
        if "test" not in service.get("healthcheck", {}):
            yield f"{name}: no healthcheck"
        for needed in service.get("depends_on", {}):
            if needed not in compose["services"]:
                yield f"{name}: depends on {needed}, which does not exist"
        for volume in service.get("volumes", []):
            if volume.split(":")[0] not in volumes:
                yield f"{name}: volume {volume} is not declared"
        if name.startswith("ostlerd"):
            yield from server_faults(name, service, known)
        elif service.get("ports"):
            yield f"{name}: publishes ports; only the servers may"


def server_faults(name, service, known):
    environment = service["environment"]
    for variable in set(environment) - known:
        yield f"{name}: the server reads no variable {variable}"
    port = environment["OSTLERD_LISTEN"].rsplit(":", 1)[1]
    for published in service["ports"]:
        if not re.fullmatch(rf"127\.0\.0\.1:\d+:{port}", published):
            yield f"{name}: port {published} is not a loopback port onto {port}"
    if f":{environment['OSTLERD_DATA_FOLDER']}" not in "".join(service["volumes"]):
        yield f"{name}: the data folder is on no volume"
    if f"/{port}" not in " ".join(service["healthcheck"]["test"]):
        yield f"{name}: the healthcheck asks another port"


def distinct_faults(compose):
    """Two servers must not share a port of this machine or a data folder."""
    servers = [service for name, service in compose["services"].items() if name.startswith("ostlerd")]
    if len(servers) < 2:
        yield "fewer than two servers"
    for key in ("ports", "volumes"):
        entries = [entry for service in servers for entry in service[key]]
        if len(entries) != len(set(entries)):
            yield f"two servers share one of {entries}"


def dockerfile_faults(path):
    text = re.sub(r"\\\n\s*", " ", path.read_text(encoding="utf-8"))
    lines = [line for line in text.splitlines() if line and not line.startswith("#")]
    stages, user, copied = set(), "root", 0
    for line in lines:
        instruction, _, rest = line.partition(" ")
        if instruction not in INSTRUCTIONS:
            yield f"{path.name}: unknown instruction {instruction}"
        if instruction == "FROM":
            stages.update(re.findall(r" AS (\w+)$", rest))
            user = "root"
        elif instruction == "USER":
            user = rest
        elif instruction == "COPY":
            copied += 1
            words = rest.split()
            stage = re.fullmatch(r"--from=(\w+)", words[0])
            if stage and stage[1] not in stages:
                yield f"{path.name}: copies from the stage {stage[1]}, which does not exist"
            if not stage and not all((ROOT / source).exists() for source in words[:-1]):
                yield f"{path.name}: a source of \"{line}\" does not exist"
    if not lines or not lines[0].startswith("FROM ") or copied == 0:
        yield f"{path.name}: does not begin with FROM or copies nothing"
    if user.split(":")[0] in ("root", "0"):
        yield f"{path.name}: ends as root"


def main():
    compose = yaml.safe_load((ROOT / "docker-compose.yml").read_text(encoding="utf-8"))
    faults = list(schema_faults(compose))
    if not faults:
        faults += service_faults(compose)
        faults += distinct_faults(compose)
    faults += dockerfile_faults(ROOT / "server/Dockerfile")
    for fault in faults:
        print(fault, file=sys.stderr)
    if faults:
        sys.exit(1)
    print(f"docker-compose.yml: {len(compose['services'])} services fit the schema; no image was built or started")


if __name__ == "__main__":
    main()
