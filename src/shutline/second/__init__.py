"""A second reader of the same words, off unless asked for: any service that speaks the chat-completions protocol.

Takes words and the address of a service; gives statements to compare with findings, and the comparison. Its answers
are data: they never make, change or remove a finding. Only `transport` may use the network; needs the extra
`second-reader`.
"""
