"""The shapes of bodies and answers, from which the OpenAPI document is made."""
