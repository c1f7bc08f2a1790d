"""Which colour a ring has: by its role, or by its metal."""
