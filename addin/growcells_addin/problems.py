"""What keeps a bridge from being installed or removed."""


class BridgeProblem(Exception):
    """Why a bridge could not be installed or removed, in one sentence."""
