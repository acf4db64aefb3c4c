# The one rule for the virtual environment, sourced by deploy/serve and tests/run (bash, also the 3.2 of macOS):
# the active one if there is one, else .venv in the checkout, made when it is missing. Call `use_environment EXTRA`.

CHECKOUT="$(cd "$(dirname "${BASH_SOURCE[0]}")/.." && pwd)"
export PIP_DISABLE_PIP_VERSION_CHECK=1

fail() {
    printf 'error: %s\n' "$*" >&2
    exit 1
}

# Whether the command given runs a Python that is new enough. A name on PATH may be a shim that runs nothing.
is_new_enough() {
    "$1" -c 'import sys; sys.exit(sys.version_info < (3, 11))' >/dev/null 2>&1
}

can_make_environments() {
    "$1" -c 'import ensurepip, venv' >/dev/null 2>&1
}

# Print the first of the commands given that can make an environment, or fail and say what is missing.
find_python() {
    local candidate without_venv=""
    for candidate in "$@"; do
        is_new_enough "$candidate" || continue
        if can_make_environments "$candidate"; then
            printf '%s\n' "$candidate"
            return
        fi
        without_venv="${without_venv:-$candidate}"
    done
    if [ -n "$without_venv" ]; then
        fail "$without_venv has no venv and ensurepip modules; install the system package that holds them" \
            "(python3-venv on Debian and Ubuntu), or activate a virtual environment"
    fi
    fail "no Python 3.11 or newer found (looked for: $*); install one, or activate a virtual environment that has one"
}

# Set VIRTUAL_ENV and put its programs first on PATH.
enter_environment() {
    if [ -z "${VIRTUAL_ENV:-}" ]; then
        VIRTUAL_ENV="$CHECKOUT/.venv"
        if [ ! -e "$VIRTUAL_ENV" ]; then
            local python
            python="$(find_python python3.13 python3.12 python3.11 python3)"
            echo "making a virtual environment in $VIRTUAL_ENV" >&2
            "$python" -m venv "$VIRTUAL_ENV" || fail "cannot make a virtual environment in $VIRTUAL_ENV"
        fi
    fi
    is_new_enough "$VIRTUAL_ENV/bin/python" || fail "the virtual environment $VIRTUAL_ENV has no working Python" \
        "3.11 or newer; activate another one, or remove it if it is the checkout's .venv"
    export VIRTUAL_ENV PATH="$VIRTUAL_ENV/bin:$PATH"
    unset PYTHONHOME
}

# What the stamp says of an environment into which the checkout was installed with the extra given.
installed_state() {
    echo "$1 $(cksum <"$CHECKOUT/pyproject.toml") $CHECKOUT"
}

mark_installed() {
    installed_state "$1" >"$VIRTUAL_ENV/threenorths-installed"
}

# `dev` holds all that `service` does.
is_installed() {
    local stamp="$VIRTUAL_ENV/threenorths-installed"
    [ -f "$stamp" ] && grep -qxF -e "$(installed_state "$1")" -e "$(installed_state dev)" "$stamp"
}

# Install the checkout with the extra given, unless that was done for this very pyproject.toml.
install_project() {
    is_installed "$1" && return
    echo "installing threenorths and what it needs into $VIRTUAL_ENV (once; this needs a package index)" >&2
    python -m pip --version >/dev/null 2>&1 || python -m ensurepip >/dev/null \
        || fail "the virtual environment $VIRTUAL_ENV has no pip, and ensurepip cannot add it"
    python -m pip install -qq --editable "$CHECKOUT[$1]" \
        || fail "the installation did not succeed; what pip said is above. Run the same command again once it is put right"
    mark_installed "$1"
}

use_environment() {
    enter_environment
    install_project "$1"
}
