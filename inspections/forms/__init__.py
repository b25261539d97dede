"""The bench's forms: one a step. A field keeps what was typed; a fault stands beside its field."""
