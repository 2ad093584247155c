"""The terminal: one-shot commands (``cli``, ``oneshot``) and the prompt (``app``, ``session``).

Uses the public names of ``kg`` only.
"""
