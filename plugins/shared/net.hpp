// Neural nets for plugins, run on the processor. The runtime is opened when first needed, so that a plugin
// can be loaded, and say what is missing, where there is none. A net is used by one thread; it runs on two.
// With CANALOGUE_NET_RUNS set, each run adds a line to that file: the model's file and how many ms it took.
#pragma once

#include <cstdint>
#include <memory>
#include <string>
#include <variant>
#include <vector>

namespace canalogue::nets {

struct Tensor {
    std::vector<float> values;
    std::vector<std::int64_t> shape;  // outermost first
};

// One input by its name in the model. A whole number goes in as a scalar of 64 bits.
struct Input {
    std::string name;
    std::variant<const Tensor*, std::int64_t> value;
};

class Net {
  public:
    // file: below models_dir. Throws std::runtime_error with a sentence when the runtime or the file cannot
    // be used.
    Net(const std::string& models_dir, const std::string& file);
    ~Net();

    // Nets with one input and one output, any size that the net takes. Throws std::runtime_error.
    Tensor run(const Tensor& input);
    // The outputs in the order asked for. Throws std::runtime_error.
    std::vector<Tensor> run(const std::vector<Input>& inputs, const std::vector<std::string>& outputs);

    const std::string& file() const { return file_; }

  private:
    struct Session;
    std::unique_ptr<Session> session_;
    std::string file_;
};

// One sentence when nets cannot run here, or one of these files is missing; empty when all is in place.
std::string why_no_nets(const std::string& models_dir, const std::vector<std::string>& files = {});

}  // namespace canalogue::nets
