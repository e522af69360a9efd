"""Part program text to path: lexer, blocks, interpreter, macro evaluator, canned cycles, compensation, control profiles."""
