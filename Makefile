.PHONY: demo test check
demo test check:
	python3 run.py $@
