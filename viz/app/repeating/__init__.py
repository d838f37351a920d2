"""Many runs behind a page: played beside the living tank, told while they come in."""
