// Stands in for net_onnx.cpp where the runtime's headers were missing at building.
#include <stdexcept>

#include "plugins/shared/net.hpp"

namespace canalogue::nets {

namespace {
constexpr const char* kBuiltWithout =
    "It was built without the runtime for its models; run app/setup/models.sh and build again.";
}

struct Net::Session {};
Net::Net(const std::string&, const std::string&) { throw std::runtime_error(kBuiltWithout); }
Net::~Net() = default;
Tensor Net::run(const Tensor&) { throw std::runtime_error(kBuiltWithout); }
std::vector<Tensor> Net::run(const std::vector<Input>&, const std::vector<std::string>&) { throw std::runtime_error(kBuiltWithout); }
std::string why_no_nets(const std::string&, const std::vector<std::string>&) { return kBuiltWithout; }

}  // namespace canalogue::nets
