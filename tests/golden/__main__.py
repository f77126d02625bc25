"""Write the golden files anew; look at the difference before keeping it."""

from tests.golden.files import rewrite

if __name__ == "__main__":
    for name in rewrite():
        print(name)
